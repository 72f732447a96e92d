"""The records made again from the recordings, which are the source of truth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import select

from engine.errors import NudgelineError
from engine.records import tables as t
from engine.records.filing import file_recording
from engine.records.opening import Records
from engine.session.shelf import recordings


@dataclass(frozen=True)
class Rebuilt:
    """IDs of the sessions that were filed, and a sentence for each recording that was not."""

    filed: tuple[str, ...]
    troubles: tuple[str, ...]


def rebuild(
    records: Records, folder: Path, said: Callable[[str], object] = lambda _: None
) -> Rebuilt:
    """Derive all sessions and visits anew from the recordings in a folder, in order of time.

    What a recording does not hold stays as it is: clients, their heads and consents, notes and
    amendments, sensor sets; and so does a session whose recording is not there any more.
    ``said`` hears the ID of each recording before it is read.
    """
    return _file(records, recordings_in(folder), said)


def catch_up(
    records: Records, folder: Path, said: Callable[[str], object] = lambda _: None
) -> Rebuilt:
    """File the recordings of a folder that are not in the records yet."""
    with records.reading() as connection:
        known = set(connection.execute(select(t.session.c.id)).scalars().all())
    missing = [path for path in recordings_in(folder) if path.stem not in known]
    return _file(records, missing, said)


def recordings_in(folder: Path) -> list[Path]:
    """Return the recordings of a folder itself; those of a demo stay out."""
    return [path for path in recordings(folder) if path.parent == folder and path.stat().st_size]


def _file(records: Records, paths: list[Path], said: Callable[[str], object]) -> Rebuilt:
    filed, troubles = [], []
    for path in paths:
        said(path.stem)
        try:
            filed.append(file_recording(records, path))
        except NudgelineError as error:
            troubles.append(str(error))
    return Rebuilt(tuple(filed), tuple(troubles))
