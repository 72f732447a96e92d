"""The tables of a recording, and the one way in which its file is opened.

A recording is one SQLite file. While a session runs, one connection alone holds it (exclusive
locking, write-ahead log, every commit synced to the disk); when the session ends, the log is
folded back, so that one plain file is left. With a passphrase all of it is encrypted (SQLCipher 4,
its defaults: AES-256, PBKDF2-HMAC-SHA512 with 256,000 rounds over the salt in the file's head).
"""

from __future__ import annotations

import hashlib
import os
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from engine.errors import RecordError

if TYPE_CHECKING:  # the driver has the interface of the standard library's, and no types
    import sqlite3 as driver
else:
    from sqlcipher3 import dbapi2 as driver

SCHEMA_VERSION = 1

PLAIN = b"SQLite format 3\0"
"""How a file begins that anybody can read."""

Connection: TypeAlias = driver.Connection

Failure = driver.Error
"""Every error of the database driver."""

TABLES = """
CREATE TABLE schema (version INTEGER NOT NULL);

-- The protocol, the stream, the program: one JSON value a key.
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL);

-- The local LSL clock and the time of day, read together.
CREATE TABLE anchor (local_clock_s REAL PRIMARY KEY, utc TEXT NOT NULL);

-- What was measured now and then: remote clock + offset_s = local clock; null while unknown.
CREATE TABLE clock_offset (local_clock_s REAL PRIMARY KEY, offset_s REAL);

-- Consecutive samples as received: raw is (n_samples, n_channels) in dtype, row after row;
-- stamps_s float64, one a sample or empty; chunk_sizes int64 and arrivals_s float64, one a chunk.
CREATE TABLE block (
    first_sample INTEGER PRIMARY KEY,
    n_samples INTEGER NOT NULL,
    dtype TEXT NOT NULL,
    raw BLOB NOT NULL,
    stamps_s BLOB NOT NULL,
    chunk_sizes BLOB NOT NULL,
    arrivals_s BLOB NOT NULL
);

-- Everything that happened or was done, in the order in which it did. sample: samples fed before.
CREATE TABLE event (
    position INTEGER PRIMARY KEY,
    sample INTEGER NOT NULL,
    kind TEXT NOT NULL,
    payload TEXT NOT NULL,
    utc TEXT NOT NULL
);

-- Consecutive ticks: samples int64, fast_uv float64 (n_ticks, n_conditions), states uint8
-- (their place in the list of states in meta), reasons uint16 (a bit each, likewise).
CREATE TABLE ticks (
    first_tick INTEGER PRIMARY KEY,
    n_ticks INTEGER NOT NULL,
    samples BLOB NOT NULL,
    fast_uv BLOB NOT NULL,
    states BLOB NOT NULL,
    reasons BLOB NOT NULL
);

-- The taps of every filter as it ran.
CREATE TABLE filter (
    name TEXT PRIMARY KEY,
    dtype TEXT NOT NULL,
    shape TEXT NOT NULL,
    taps BLOB NOT NULL
);
"""


def check_sqlite(version: tuple[int, int, int] = driver.sqlite_version_info) -> None:
    """Refuse an SQLite whose write-ahead log can damage a file (sqlite.org/wal.html, 2026).

    The fault is in 3.7.0 to 3.51.2, except 3.44.6 and 3.50.7 and what follows them in their line.
    """
    repaired = version >= (3, 51, 3) or any(
        version[:2] == line[:2] and version >= line for line in ((3, 44, 6), (3, 50, 7))
    )
    if not repaired:
        raise RecordError(
            f"SQLite is {'.'.join(map(str, version))}, but 3.51.3 or later is needed, since "
            "earlier ones can damage a recording; install the package sqlcipher3 0.6.4 or later."
        )


def create_file(folder: Path, stem: str) -> Path:
    """Create an empty file that nobody else can read; a folder made here nobody else can enter.

    A name that is taken gets a number. Raises OSError when the folder cannot be written.
    """
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    for number in range(1, 1000):
        path = folder / f"{stem}{'' if number == 1 else f'-{number}'}.sqlite"
        try:
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        except FileExistsError:
            continue
        return path
    raise FileExistsError(f"{stem}.sqlite and 998 names after it")


def encrypted(path: Path) -> bool:
    """Tell whether a file holds something, and that is not plain SQLite."""
    with path.open("rb") as file:
        head = file.read(len(PLAIN))
    return bool(head) and head != PLAIN


def unlock(connection: Connection, path: Path, passphrase: str) -> None:
    """Give a new connection the key to its file, before anything else is asked of it.

    RecordError, without the passphrase, where it does not open the file, where the file is not
    encrypted, and where it is but no passphrase is given.
    """
    locked, empty = encrypted(path), not path.stat().st_size
    if not passphrase and not locked:
        return
    if not passphrase:
        raise RecordError(
            f"The file {path} cannot be read (encrypted or damaged), but a plain one is needed "
            "where no passphrase is given; give the one that it was written with, or use a copy."
        )
    if not locked and not empty:
        raise RecordError(
            f"The file {path} is not encrypted, but a passphrase was given; open it without one."
        )
    if not connection.execute("PRAGMA cipher_version").fetchone():
        raise RecordError(
            "The SQLite that is installed cannot encrypt, but a passphrase was given; install "
            "the package sqlcipher3 alone, and no other of that name."
        )
    quoted = passphrase.replace("'", "''") if empty else _raw_key(_salt(path), passphrase)
    connection.execute("PRAGMA cipher_log_level = NONE")  # what is wrong is said by us
    connection.execute(f"PRAGMA key = '{quoted}'")
    try:
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except driver.DatabaseError as error:
        if "not a database" not in str(error):
            raise
        raise RecordError(
            f"The passphrase does not open {path}, but the one that it was written with is "
            "needed; write it again."
        ) from None


def _salt(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(16)


@lru_cache(maxsize=64)
def _raw_key(salt: bytes, passphrase: str) -> str:
    """Return the key as SQLCipher would derive it; a file is opened often, and derived once."""
    key = hashlib.pbkdf2_hmac("sha512", passphrase.encode(), salt, 256_000, 32)
    return f"x''{key.hex()}{salt.hex()}''"


def connect(path: Path, passphrase: str = "", *, read_only: bool = False) -> Connection:
    """Open an existing recording; it is never created here, so a lost one is noticed.

    A file opened for writing is held by this connection alone until it is closed. RecordError as
    in `unlock`, and where a new file would not be encrypted although it should.
    """
    check_sqlite()
    uri = f"{path.absolute().as_uri()}?mode={'ro' if read_only else 'rw'}"
    # One thread at a time uses it: the recording's own, or the one that reads.
    connection = driver.connect(
        uri, uri=True, isolation_level=None, timeout=0.2, check_same_thread=False
    )
    try:
        unlock(connection, path, passphrase)
        if not read_only:
            connection.execute("PRAGMA locking_mode=EXCLUSIVE")
            connection.execute("PRAGMA journal_mode=WAL")
            connection.execute("PRAGMA synchronous=FULL")
            connection.execute("PRAGMA cache_size=-1000")  # kB: it only ever adds at the end
            if not connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
                connection.executescript(f"BEGIN IMMEDIATE; {TABLES}")
                connection.execute("INSERT INTO schema VALUES (?)", (SCHEMA_VERSION,))
                connection.execute("COMMIT")
        if passphrase and not encrypted(path):
            raise RecordError(
                f"The recording {path} would not be encrypted, but a passphrase is set; install "
                "the package sqlcipher3 alone, and no other of that name."
            )
    except BaseException:
        connection.close()
        raise
    return connection


def copy(connection: Connection, folder: Path, stem: str) -> Path:
    """Write all that an open recording holds to a new file, even after its own was deleted."""
    path = create_file(folder, stem)
    connection.execute("VACUUM INTO ?", (str(path),))
    return path


def close(connection: Connection) -> None:
    """Fold the write-ahead log back into the one file, and close."""
    try:
        connection.execute("PRAGMA journal_mode=DELETE")
    finally:
        connection.close()
