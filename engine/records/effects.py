"""Adverse effects, and whether they were asked about since."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select

from engine.records import tables as t
from engine.records.clients import known_id
from engine.records.opening import Records


@dataclass(frozen=True)
class Effect:
    """``id`` is the session's and the effect's place in it. ``logged_utc``: when it was noted."""

    id: str
    what: str
    words: str
    noticed: str
    severity: str
    done: str
    logged_utc: str


def due_followups(records: Records, client: str) -> tuple[Effect, ...]:
    """Return the effects that are to be asked about and are not settled, oldest first."""
    settled = select(t.follow_up.c.adverse_id).where(t.follow_up.c.settled.is_(True))
    with records.reading() as connection:
        rows = connection.execute(
            select(t.adverse)
            .where(
                t.adverse.c.client_id == known_id(connection, client),
                t.adverse.c.follow_up.is_(True),
                t.adverse.c.id.not_in(settled),
            )
            .order_by(t.adverse.c.logged_utc, t.adverse.c.id)
        ).all()
    return tuple(
        Effect(r.id, r.what, r.words, r.noticed, r.severity, r.done, r.logged_utc) for r in rows
    )
