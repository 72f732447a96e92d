"""The measured head of a client: kept each time, the newest offered next time."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from engine.practice.head import head_from
from engine.records import tables as t
from engine.records.clients import known_id
from engine.records.opening import Records, now_utc


def keep_head(records: Records, client: str, measures: Mapping[str, Any]) -> None:
    """Keep a head, as `Head.values` writes it; ConfigError where it is none."""
    head_from(measures)
    with records.writing() as connection:
        insert_head(connection, known_id(connection, client), measures)


def last_head(records: Records, client: str) -> dict[str, Any] | None:
    """Return the head that was measured last, as `head_from` reads it; None where none was."""
    with records.reading() as connection:
        found: dict[str, Any] | None = connection.execute(
            select(t.head.c.measures)
            .where(t.head.c.client_id == known_id(connection, client))
            .order_by(t.head.c.measured_on.desc(), t.head.c.id.desc())
            .limit(1)
        ).scalar()
    return found


def insert_head(connection: Connection, client_id: int, measures: Mapping[str, Any]) -> None:
    """Insert a head, unless the same is there."""
    plain = dict(measures)
    known = connection.execute(select(t.head.c.measures).where(t.head.c.client_id == client_id))
    if plain not in known.scalars().all():
        day = str(plain.get("measured_on", ""))
        connection.execute(
            insert(t.head).values(
                client_id=client_id, measured_on=day, measures=plain, kept_utc=now_utc()
            )
        )
