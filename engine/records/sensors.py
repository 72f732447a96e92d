"""Sensor sets, and the sessions in which each was worn."""

from __future__ import annotations

from sqlalchemy import delete, func, insert, select, update
from sqlalchemy.engine import Connection

from engine.errors import ConfigError, bad_value
from engine.practice.care import SensorSet
from engine.records import tables as t
from engine.records.opening import Records


def sensor_sets(records: Records) -> tuple[SensorSet, ...]:
    """Return the sets in use with the sessions they served, the one worn last first."""
    worn = func.count(t.wear.c.id)
    with records.reading() as connection:
        rows = connection.execute(
            select(t.sensor_set, worn, func.max(t.wear.c.worn_in))
            .outerjoin(t.wear, t.wear.c.sensor_set_id == t.sensor_set.c.id)
            .where(t.sensor_set.c.retired == "")
            .group_by(t.sensor_set.c.id)
        ).all()
    rows = sorted(rows, key=lambda row: (row[-1] or "", -row.id), reverse=True)
    return tuple(SensorSet(row.name, row.n_before + row[-2], row.since) for row in rows)


def add_sensor_set(records: Records, sensors: SensorSet) -> None:
    """Keep a new set; ``n_sessions`` are those that it served before it was kept here."""
    name = sensors.name.strip()
    if not name:
        raise bad_value("sensor set", sensors.name, "a name", "write one, such as gold A")
    with records.writing() as connection:
        if _id_of(connection, name) is not None:
            raise ConfigError(f"sensor set is {name!r}, but that is there; choose another name.")
        _insert(connection, name, sensors.since, sensors.n_sessions)


def retire(records: Records, name: str, day: str) -> None:
    """Take a set out of use on a day (ISO 8601); what it served is kept."""
    with records.writing() as connection:
        connection.execute(
            update(t.sensor_set).where(t.sensor_set.c.name == name).values(retired=day)
        )


def count_wear(connection: Connection, name: str, session: str, since: str = "") -> None:
    """Count one visit of a set, once however often it is said; an unknown set is kept first.

    A visit counts for one set: the last that is said.
    """
    connection.execute(delete(t.wear).where(t.wear.c.worn_in == session))
    if name.strip():
        number = _id_of(connection, name.strip())
        if number is None:
            number = _insert(connection, name.strip(), since, 0)
        connection.execute(insert(t.wear).values(sensor_set_id=number, worn_in=session))


def change_set(connection: Connection, old: str, new: str, day: str) -> None:
    """Take a set out of use on a day, and a new one into use; one that is there stays."""
    connection.execute(
        update(t.sensor_set)
        .where(t.sensor_set.c.name == old, t.sensor_set.c.retired == "")
        .values(retired=day)
    )
    if _id_of(connection, new) is None:
        _insert(connection, new, day, 0)


def _id_of(connection: Connection, name: str) -> int | None:
    found: int | None = connection.execute(
        select(t.sensor_set.c.id).where(t.sensor_set.c.name == name)
    ).scalar()
    return found


def _insert(connection: Connection, name: str, since: str, n_before: int) -> int:
    result = connection.execute(
        insert(t.sensor_set).values(name=name, since=since, n_before=n_before)
    )
    assert result.inserted_primary_key is not None
    return int(result.inserted_primary_key[0])
