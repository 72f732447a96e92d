"""Consent, assent, and the cautions that were acknowledged."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from engine.practice.visit import Consent
from engine.records import tables as t
from engine.records.clients import known_id
from engine.records.opening import Records


@dataclass(frozen=True)
class Kept:
    """``screening`` holds the answers of that day, by key."""

    consent: Consent
    screening: Mapping[str, str] = field(default_factory=dict)


def last_consent(records: Records, client: str) -> Kept | None:
    """Return what was acknowledged last, None where nothing was."""
    with records.reading() as connection:
        row = connection.execute(
            select(t.consent)
            .where(t.consent.c.client_id == known_id(connection, client))
            .order_by(t.consent.c.acknowledged_utc.desc())
            .limit(1)
        ).first()
    if row is None:
        return None
    consent = Consent(
        row.given_by, row.assent, tuple(row.cautions), row.acknowledged_utc, row.operator
    )
    return Kept(consent, row.screening)


def keep_consent(records: Records, client: str, kept: Kept) -> None:
    """Keep what was acknowledged; earlier ones stay."""
    with records.writing() as connection:
        insert_consent(connection, known_id(connection, client), kept)


def insert_consent(connection: Connection, client_id: int, kept: Kept) -> None:
    """Insert what was acknowledged, unless it is there."""
    consent = kept.consent
    there = select(t.consent.c.id).where(
        t.consent.c.client_id == client_id,
        t.consent.c.acknowledged_utc == consent.acknowledged_utc,
    )
    if consent.acknowledged_utc and connection.execute(there).first() is None:
        connection.execute(
            insert(t.consent).values(
                client_id=client_id,
                given_by=consent.given_by,
                assent=consent.assent,
                cautions=list(consent.cautions),
                screening=dict(kept.screening),
                acknowledged_utc=consent.acknowledged_utc,
                operator=consent.by,
            )
        )
