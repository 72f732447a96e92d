"""Copies of a database by SQLite's own backup, and one put back in its place."""

from __future__ import annotations

import os
from contextlib import closing, suppress
from datetime import UTC, datetime
from pathlib import Path

from sqlcipher3 import dbapi2 as driver

from engine.errors import RecordError
from engine.records.opening import Records, open_records
from engine.session import recording_tables


def backup(records: Records, to: Path) -> Path:
    """Write a copy of the records to a new file, encrypted as they are; return its path.

    It is written aside, checked, and renamed. RecordError where the place is taken or cannot be
    written; the records themselves are only read.
    """
    with records.said("backed up"), closing(records.connect()) as source:
        copy_database(source, to, records.passphrase)
    return to


def copy_database(source: recording_tables.Connection, to: Path, passphrase: str) -> None:
    """Copy an open database to a new file for its owner alone.

    RecordError where it is taken or the copy is not whole; driver.Error and OSError otherwise.
    """
    if to.exists():
        raise RecordError(
            f"The backup {to} is there already, but a new file is needed; choose another name."
        )
    to.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    aside = to.with_name(f"{to.name}.part")
    aside.unlink(missing_ok=True)
    try:
        os.close(os.open(aside, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        uri = f"{aside.absolute().as_uri()}?mode=rw"
        with closing(driver.connect(uri, uri=True)) as target:
            recording_tables.unlock(target, aside, passphrase)
            source.backup(target)
            target.execute("PRAGMA journal_mode=DELETE")
            ((verdict,),) = target.execute("PRAGMA integrity_check(1)").fetchall()
        if verdict != "ok" or recording_tables.encrypted(aside) != bool(passphrase):
            raise RecordError(
                f"The backup {to} is not whole ({verdict}); nothing was kept, try another disk."
            )
        _sync(aside)
        os.replace(aside, to)
    finally:
        for leftover in (aside, Path(f"{aside}-wal"), Path(f"{aside}-shm")):
            with suppress(OSError):
                leftover.unlink(missing_ok=True)


def copy_recording(path: Path, to: Path, passphrase: str) -> bool:
    """Copy a closed recording, unless an equally new copy is there; tell whether it was copied.

    ``passphrase`` is that of the records; a recording that is not encrypted stays plain.
    RecordError where a session still holds it, or the copy cannot be written.
    """
    fitting = passphrase if recording_tables.encrypted(path) else ""
    if to.exists() and to.stat().st_mtime >= path.stat().st_mtime:
        return False
    if Path(f"{path}-wal").exists():
        raise RecordError(
            f"The recording {path} is not closed, but only a closed one is backed up; end its "
            "session, or let `nudgeline sessions` read it, and back up again."
        )
    aside = to.with_name(f"{to.name}.new")
    aside.unlink(missing_ok=True)
    try:
        with closing(recording_tables.connect(path, fitting, read_only=True)) as source:
            copy_database(source, aside, fitting)
        os.replace(aside, to)
    except (recording_tables.Failure, OSError) as error:
        raise RecordError(
            f"The recording {path} cannot be backed up to {to} ({error}), but a copy is to be "
            "written; try another place."
        ) from None
    return True


def restore(source: Path, path: Path, passphrase: str = "") -> Path | None:
    """Put a backup in the place of the records at ``path``; return where those are kept now.

    None where there were none. The backup is opened and checked first: where it cannot be used,
    RecordError, and nothing has changed.
    """
    if not source.is_file():
        raise RecordError(f"The backup {source} does not exist, but one is needed; check the name.")
    found = Records(source, passphrase)
    aside = path.with_name(f"{path.name}.restored")
    with found.said("read"), closing(found.connect()) as connection:
        ((tables,),) = connection.execute(
            "SELECT count(*) FROM sqlite_master WHERE name = 'client'"
        ).fetchall()
        if not tables:
            raise RecordError(
                f"The file {source} is no backup of records, but one is needed; check the name."
            )
        aside.unlink(missing_ok=True)
        copy_database(connection, aside, passphrase)
    kept = None
    with found.said("put back"):
        if path.exists():
            kept = _free_name(path)
            with suppress(RecordError):  # what the log still holds; it may be damaged
                open_records(path, passphrase)
            os.replace(path, kept)
            for suffix in ("-wal", "-shm"):
                log = Path(f"{path}{suffix}")
                if log.exists():
                    os.replace(log, Path(f"{kept}{suffix}"))
        os.replace(aside, path)
    return kept


def _free_name(path: Path) -> Path:
    stamp = f"{datetime.now(UTC):%Y%m%d-%H%M%S}"
    for number in range(1, 1000):
        more = "" if number == 1 else f"-{number}"
        name = path.with_name(f"{path.stem}-replaced-{stamp}{more}{path.suffix}")
        if not name.exists():
            return name
    raise FileExistsError(f"{path.stem}-replaced-{stamp}")


def _sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())
