import os
import stat
from pathlib import Path

import pytest
from sqlcipher3.dbapi2 import OperationalError

from engine.errors import RecordError
from engine.session import recording_tables as tables
from engine.session.recording_faults import sentence


@pytest.mark.parametrize(
    "version", [(3, 51, 3), (3, 53, 4), (3, 44, 6), (3, 44, 9), (3, 50, 7), (4, 0, 0)]
)
def test_an_sqlite_without_the_fault_is_accepted(version: tuple[int, int, int]) -> None:
    """Versions named on sqlite.org/changes.html for the repair of the write-ahead log."""
    tables.check_sqlite(version)


@pytest.mark.parametrize(
    "version", [(3, 7, 0), (3, 40, 1), (3, 44, 5), (3, 45, 0), (3, 50, 6), (3, 51, 2)]
)
def test_an_sqlite_with_the_fault_is_refused_in_a_sentence(version: tuple[int, int, int]) -> None:
    with pytest.raises(RecordError, match=r"SQLite is 3\.\d+\.\d, but 3\.51\.3 or later is needed"):
        tables.check_sqlite(version)


def test_the_driver_that_is_installed_is_accepted() -> None:
    tables.check_sqlite()


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such permissions")
def test_nobody_else_can_read_a_recording(tmp_path: Path) -> None:
    path = tables.create_file(tmp_path / "recordings", "one")
    connection = tables.connect(path)
    modes = {p.name: stat.S_IMODE(p.stat().st_mode) for p in path.parent.iterdir()}
    tables.close(connection)
    assert modes == {"one.sqlite": 0o600, "one.sqlite-wal": 0o600}
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700


def test_a_name_that_is_taken_gets_a_number(tmp_path: Path) -> None:
    names = [tables.create_file(tmp_path, "one").name for _ in range(3)]
    assert names == ["one.sqlite", "one-2.sqlite", "one-3.sqlite"]


def test_every_commit_is_synced_and_the_file_is_held_by_one_connection(tmp_path: Path) -> None:
    path = tables.create_file(tmp_path, "one")
    connection = tables.connect(path)
    pragmas = [
        connection.execute(f"PRAGMA {name}").fetchone()[0]
        for name in ("journal_mode", "synchronous", "locking_mode")
    ]
    assert pragmas == ["wal", 2, "exclusive"]
    with pytest.raises(tables.Failure, match="locked"):
        tables.connect(path)
    tables.close(connection)


def test_a_recording_that_is_gone_is_not_made_anew(tmp_path: Path) -> None:
    with pytest.raises(tables.Failure, match="unable to open"):
        tables.connect(tmp_path / "gone.sqlite")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("error", "cause", "action"),
    [
        (OperationalError("database or disk is full"), "disk is full", "free some"),
        (OSError(28, "No space left on device"), "disk is full", "free some space"),
        (OperationalError("database is locked"), "another program", "close that"),
        (
            OperationalError("attempt to write a readonly database"),
            "read-only",
            "make it writable",
        ),
        (PermissionError(13, "Permission denied"), "read-only", "make it writable"),
        (OperationalError("unable to open database file"), "gone", "bring it back"),
        (OperationalError("disk I/O error"), "disk I/O error", "check the disk"),
    ],
)
def test_a_fault_says_what_it_is_and_what_to_do(error: Exception, cause: str, action: str) -> None:
    said = sentence(Path("one.sqlite"), error)
    assert cause in said
    assert action in said
