"""The records of a clinic: opened, held for one user alone, and every fault said in a sentence.

They are one file beside the recordings. Every connection is short: another process (the desk, a
verb) may read and write between two of them.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import create_engine, event
from sqlalchemy.engine import Connection
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool
from sqlcipher3 import dbapi2 as driver

from engine.clinic import Clinic, load_clinic
from engine.errors import RecordError
from engine.records.migration import migrate, version_of, versions
from engine.session import recording_tables
from engine.session.recording_faults import cause

NAME = "records.sqlite"
WAIT_S = 2.0
"""For how long another program's write is waited for."""


class LockedError(RecordError):
    """A passphrase is needed, or another one."""


class Records:
    """The open records; `open_records` makes one."""

    def __init__(self, path: Path, passphrase: str = "", wait_s: float = WAIT_S):
        self.path, self.passphrase, self._wait_s = path, passphrase, wait_s
        self._engine = create_engine(
            "sqlite://", module=driver, creator=self.connect, poolclass=NullPool
        )
        event.listen(self._engine, "begin", _begin)

    def connect(self) -> Any:
        """Return a new connection of the driver, keyed and set; its owner closes it."""
        uri = f"{self.path.absolute().as_uri()}?mode=rw"
        connection = driver.connect(uri, uri=True, isolation_level=None, timeout=self._wait_s)
        try:
            recording_tables.unlock(connection, self.path, self.passphrase)
            for setting in ("foreign_keys=ON", "journal_mode=WAL", "synchronous=FULL"):
                connection.execute(f"PRAGMA {setting}")
        except BaseException:
            connection.close()
            raise
        return connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Read within one picture of the records; RecordError when they cannot be read."""
        with (
            self.said("read"),
            self._engine.connect() as connection,
            connection.execution_options(only_reads=True).begin(),
        ):
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Write all or nothing; RecordError when it cannot be written, and nothing is then."""
        with self.said("written"), self._engine.begin() as connection:
            yield connection

    @contextmanager
    def said(self, what: str) -> Iterator[None]:
        """Turn what a disk or the database says into one sentence."""
        try:
            yield
        except (DBAPIError, recording_tables.Failure, OSError) as error:
            origin = error.orig if isinstance(error, DBAPIError) else error
            assert isinstance(origin, Exception)
            why, action = cause(origin)
            raise RecordError(
                f"The records {self.path} cannot be {what}: {why}; {action}, then try again: "
                "what is stored is whole."
            ) from None

    def __repr__(self) -> str:
        return f"Records({str(self.path)!r})"


def records_path(clinic: Clinic) -> Path:
    """Return where the records of a clinic are, beside its recordings; they need not exist."""
    return clinic.recordings / NAME


def open_records(
    path: Path | None = None, passphrase: str = "", *, wait_s: float = WAIT_S
) -> Records:
    """Open the records at ``path``, by default the clinic's own; made where there are none.

    Tables of an earlier program are brought up to date, after a backup beside the file. LockedError
    where the passphrase does not fit, RecordError where the file cannot be used.
    """
    recording_tables.check_sqlite()
    records = Records(path or records_path(load_clinic()), passphrase, wait_s)
    path = records.path
    with records.said("opened"):
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not path.exists():
            os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
        _knock(records)
    with records.reading() as connection:
        found = version_of(connection)
    known = versions()
    if found and found not in known:
        raise RecordError(
            f"The records {path} have version {found!r}, but {known[-1]!r} is the newest that is "
            "accepted; open them with the program that wrote them, or a later one."
        )
    if found != known[-1]:
        if found:
            _save_before(records, found)
        with records.writing() as connection:
            if version_of(connection) != known[-1]:
                migrate(connection)
    _prove(records)
    return records


def now_utc() -> str:
    """Return the moment as the records write it."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def _knock(records: Records) -> None:
    """Open the file once, so that a passphrase that does not fit is said as such."""
    try:
        records.connect().close()
    except RecordError as error:
        raise LockedError(str(error)) from None


def _prove(records: Records) -> None:
    """Make sure that what is to be encrypted is."""
    if records.passphrase and not recording_tables.encrypted(records.path):
        raise RecordError(
            f"The records {records.path} are not encrypted, but a passphrase is set; install the "
            "package sqlcipher3 alone, and no other of that name."
        )


def _save_before(records: Records, version: str) -> None:
    from engine.records.backup import backup

    moment = datetime.now(UTC)
    name = f"{records.path.stem}-{version}-until-{moment:%Y%m%d-%H%M%S}{records.path.suffix}"
    backup(records, records.path.with_name(name))


def _begin(connection: Connection) -> None:
    """Begin as SQLite should: a writer takes its turn at once, and tables are made within it."""
    reads = connection.get_execution_options().get("only_reads")
    connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")
