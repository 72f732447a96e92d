"""Notes on sessions: locked when closed, amended afterwards, never overwritten."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Select, insert, select, update

from engine.errors import ConfigError
from engine.records import tables as t
from engine.records.opening import Records, now_utc


@dataclass(frozen=True)
class Written:
    """A note or, where ``amends``, what was added to a locked one; ``locked_utc`` empty: open."""

    words: str
    operator: str
    written_utc: str
    locked_utc: str = ""
    amends: bool = False


def write_note(records: Records, session: str, words: str, operator: str) -> None:
    """Write the note of a session, in place of the open one; ConfigError once it is locked."""
    with records.writing() as connection:
        row = connection.execute(_note_of(session)).first()
        if row is not None and row.locked_utc:
            raise ConfigError(
                f"note of {session} was locked on {row.locked_utc}, but an open one is accepted; "
                "add an amendment."
            )
        values = {"words": words, "operator": operator, "written_utc": now_utc()}
        if row is None:
            connection.execute(insert(t.note).values(session_id=session, **values))
        else:
            connection.execute(update(t.note).where(t.note.c.id == row.id).values(**values))


def lock_note(records: Records, session: str) -> None:
    """Lock the note of a session; what is locked stays as it was locked."""
    with records.writing() as connection:
        connection.execute(
            update(t.note)
            .where(t.note.c.session_id == session, t.note.c.locked_utc == "")
            .values(locked_utc=now_utc())
        )


def amend(records: Records, session: str, words: str, operator: str) -> None:
    """Add to a locked note; the note itself stays. ConfigError while it is open or not there."""
    with records.writing() as connection:
        row = connection.execute(_note_of(session)).first()
        if row is None or not row.locked_utc:
            raise ConfigError(
                f"note of {session} is not locked, but only a locked one is amended; write into it."
            )
        now = now_utc()
        connection.execute(
            insert(t.note).values(
                session_id=session,
                follows=row.id,
                words=words,
                operator=operator,
                written_utc=now,
                locked_utc=now,
            )
        )


def notes(records: Records, session: str) -> tuple[Written, ...]:
    """Return the note of a session and its amendments, in order."""
    with records.reading() as connection:
        rows = connection.execute(
            select(t.note).where(t.note.c.session_id == session).order_by(t.note.c.id)
        ).all()
    return tuple(
        Written(r.words, r.operator, r.written_utc, r.locked_utc, r.follows is not None)
        for r in rows
    )


def _note_of(session: str) -> Select[Any]:
    return select(t.note).where(t.note.c.session_id == session, t.note.c.follows.is_(None))
