"""The shelf of recordings: finding one by its ID, and those whose session was cut off.

A session's ID is the stem of its file, which begins with the moment in UTC at which it began.
Nothing here changes a recording but `close_cut_off`, and reading one that was cut off folds in
what its write-ahead log still holds.
"""

from __future__ import annotations

import re
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import numpy as np

from engine.errors import ConfigError, RecordError, bad_value
from engine.events import Entry
from engine.session import recording_tables as tables
from engine.session.recording_reader import RecordedSession, read_session

CLOSED_LATER = "closed after a crash"
"""How a session ended whose host was killed."""

_ID = re.compile(r"\d{8}-\d{6}-.+")
_SUFFIX = ".sqlite"
_LOOKED_AT = 8
"""Of recordings without a write-ahead log, so many of the newest are asked how they ended."""


@dataclass(frozen=True)
class Shelved:
    """What is there of a recording, such as one whose session was cut off.

    Attributes
    ----------
    seconds : of signal saved, without gaps. n_points : points saved.
    began_utc, last_utc : the first and the last moment saved, None where nothing says it.
    client, number : code and number of the visit; empty and None where none was written down.
    visit : all that was written down of the visit.
    """

    path: Path
    protocol: str
    seconds: float
    n_points: int
    began_utc: datetime | None
    last_utc: datetime | None
    client: str = ""
    number: int | None = None
    visit: dict[str, Any] = field(default_factory=dict)

    @property
    def id(self) -> str:
        return self.path.stem


def recordings(folder: Path) -> tuple[Path, ...]:
    """Return the recordings in ``folder`` and its ``demo`` subfolder, in order of time."""
    found = [
        path
        for place in (folder, folder / "demo")
        for path in place.glob(f"*{_SUFFIX}")
        if _ID.fullmatch(path.stem) and path.is_file()
    ]
    return tuple(sorted(found, key=lambda path: (path.stem, path.parent)))


def find_recording(folder: Path, id: str) -> Path:
    """Return the recording that is asked for.

    ``id`` is its stem, a beginning of it that no other shares, the path of a file, or ``last``.
    ConfigError names near ones where it is unknown or fits several.
    """
    asked = Path(id).expanduser()
    if id and asked.is_file():
        return asked
    shelf = recordings(folder)
    if not shelf:
        raise _unknown(id, f"a recording in {folder}, where none is yet", "run a session first")
    if id == "last":
        return shelf[-1]
    name = id.removesuffix(_SUFFIX)
    exact = [path for path in shelf if path.stem == name]
    fitting = exact or [path for path in shelf if name and path.stem.startswith(name)]
    if len(fitting) == 1:
        return fitting[0]
    if len(exact) > 1:
        raise _unknown(
            id, f"one of {' and '.join(map(str, exact))}", "give the path of the one you mean"
        )
    if fitting:
        raise _unknown(id, f"the ID of one session, and it fits {_some(fitting)}", "write more")
    names = [path.stem for path in shelf]
    near = get_close_matches(name, names, n=3, cutoff=0.5) or names[-3:][::-1]
    raise _unknown(id, f'"last" or an ID such as {", ".join(near)}', "choose one")


def cut_off(folder: Path, passphrase: str = "") -> tuple[Shelved, ...]:
    """Return the recordings whose session was cut off, in order of time.

    Left out is what a running session still holds, what cannot be read, and what was cut off
    before its first sample was saved. Of recordings without a write-ahead log only the newest
    are looked at: a log is what a crash leaves, and goes when somebody reads the recording.
    """
    found = []
    shelf = recordings(folder)
    for place, path in enumerate(shelf):
        new = place >= len(shelf) - _LOOKED_AT
        if not path.stat().st_size or not (new or Path(f"{path}-wal").exists()):
            continue
        try:
            session = _read(path, passphrase)
            if not session.ended and session.n_samples:
                found.append(_shelved(session))
        except RecordError:
            continue  # reading it by name says what is wrong
    return tuple(found)


def saved(path: Path, passphrase: str = "") -> Shelved:
    """Return what is there of one recording; RecordError when it cannot be read."""
    return _shelved(_read(path, passphrase))


def close_cut_off(path: Path, passphrase: str = "") -> None:
    """Write down that the session of a recording was cut off, so that it is no longer listed.

    RecordError when it is no recording, or a running session still holds it.
    """
    session = _read(path, passphrase)
    if session.ended:
        return
    try:
        connection = tables.connect(path, session.passphrase)
        try:
            row = ("ended", f'"{CLOSED_LATER}"')
            connection.execute("INSERT OR IGNORE INTO meta VALUES (?, ?)", row)
        finally:
            tables.close(connection)
    except tables.Failure as error:
        raise RecordError(
            f"The recording {path} cannot be closed ({error}), but its end is to be written down; "
            "close the program that holds it, or make the file writable."
        ) from None


def _read(path: Path, passphrase: str) -> RecordedSession:
    """Read a recording, with the passphrase where it is encrypted: others stand beside it."""
    locked = path.is_file() and tables.encrypted(path)
    return read_session(path, passphrase if locked else "")


def _shelved(session: RecordedSession) -> Shelved:
    entries = [e.values for e in session.events() if isinstance(e, Entry) and e.topic == "visit"]
    visit = entries[-1] if entries else {}
    number = visit.get("number")
    return Shelved(
        path=session.path,
        protocol=session.protocol.name,
        seconds=session.n_samples / session.info.sfreq,
        n_points=len(session.points()),
        began_utc=began_utc(session),
        last_utc=_last_moment(session),
        client=str(visit.get("client", "")),
        number=number if isinstance(number, int) else None,
        visit=visit,
    )


def began_utc(session: RecordedSession) -> datetime | None:
    """Return the time of day of the first sample, None where nothing says it."""
    first = next(session.chunks(), None)
    if session.anchors and first is not None:
        clock_s, anchored = session.anchors[0]
        since_s = first.arrival_s - (first.n_samples - 1) / session.info.sfreq - clock_s
        return datetime.fromisoformat(anchored) + timedelta(seconds=since_s)
    try:
        return datetime.strptime(session.path.stem[:15], "%Y%m%d-%H%M%S").replace(tzinfo=UTC)
    except ValueError:
        return None


def _last_moment(session: RecordedSession) -> datetime | None:
    """Return the time of day of the last thing saved: an event, or the last samples' arrival."""
    with closing(tables.connect(session.path, session.passphrase, read_only=True)) as connection:
        ((utc,),) = connection.execute("SELECT max(utc) FROM event").fetchall()
        query = "SELECT arrivals_s FROM block ORDER BY first_sample DESC LIMIT 1"
        ((arrivals,),) = connection.execute(query).fetchall()
    moments = [datetime.fromisoformat(utc)] if utc else []
    if session.anchors:
        clock_s, anchored = session.anchors[-1]
        since_s = float(np.frombuffer(arrivals, "<f8")[-1]) - clock_s
        moments.append(datetime.fromisoformat(anchored) + timedelta(seconds=max(0.0, since_s)))
    return max(moments, default=None)


def _unknown(id: str, accepted: str, action: str) -> ConfigError:
    return bad_value("session ID", id, accepted, action)


def _some(paths: list[Path]) -> str:
    """Return the first names of several, and how many more there are."""
    more = f" and {len(paths) - 3} more" if len(paths) > 3 else ""
    return ", ".join(path.stem for path in paths[:3]) + more
