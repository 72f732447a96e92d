"""What is planned for a client's next session."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import insert, select

from engine.records import tables as t
from engine.records.clients import known_id
from engine.records.opening import Records, now_utc


@dataclass(frozen=True)
class Plan:
    """``protocol`` is a slug; it and ``site`` are empty where the plan leaves them as they are."""

    words: str
    protocol: str = ""
    site: str = ""
    made_utc: str = ""
    operator: str = ""


def keep_plan(records: Records, client: str, plan: Plan) -> None:
    """Keep a plan; earlier ones stay."""
    with records.writing() as connection:
        connection.execute(
            insert(t.plan).values(
                client_id=known_id(connection, client),
                protocol=plan.protocol,
                site=plan.site,
                words=plan.words,
                made_utc=plan.made_utc or now_utc(),
                operator=plan.operator,
            )
        )


def last_plan(records: Records, client: str) -> Plan | None:
    """Return the plan that was made last, None where none was."""
    with records.reading() as connection:
        row = connection.execute(
            select(t.plan)
            .where(t.plan.c.client_id == known_id(connection, client))
            .order_by(t.plan.c.made_utc.desc(), t.plan.c.id.desc())
            .limit(1)
        ).first()
    if row is None:
        return None
    return Plan(row.words, row.protocol, row.site, row.made_utc, row.operator)
