"""The records opened, migrated, encrypted; and what can go wrong said in a sentence."""

from __future__ import annotations

import os
import shutil
import stat
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateIndex, CreateTable
from sqlcipher3 import dbapi2 as driver

from engine.clinic import load_clinic
from engine.errors import RecordError
from engine.records import migration
from engine.records import tables as t
from engine.records.backup import backup, restore
from engine.records.clients import Client, add_client, clients
from engine.records.opening import LockedError, Records, open_records, records_path
from engine.session import recording_tables

SECRET = "three herons' pond"


def codes(records: Records) -> list[str]:
    return [client.code for client in clients(records)]


def test_they_are_made_for_their_owner_alone(tmp_path: Path) -> None:
    records = open_records(tmp_path / "new" / "records.sqlite")
    assert codes(records) == []
    if os.name == "posix":
        assert stat.S_IMODE(records.path.stat().st_mode) == 0o600
        assert stat.S_IMODE(records.path.parent.stat().st_mode) == 0o700


def test_they_stand_beside_the_recordings() -> None:
    assert records_path(load_clinic()).parent == load_clinic().recordings


def test_every_write_reaches_the_disk_and_references_hold(records: Records) -> None:
    with closing(records.connect()) as connection:
        asked = ("journal_mode", "synchronous", "foreign_keys")
        found = [connection.execute(f"PRAGMA {key}").fetchone()[0] for key in asked]
    assert found == ["wal", 2, 1]  # 2 is FULL
    with pytest.raises(RecordError), records.writing() as writing:
        writing.exec_driver_sql("INSERT INTO head (client_id, measures) VALUES (99, '{}')")


def test_the_migrations_make_exactly_the_tables_that_are_used(records: Records) -> None:
    with records.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), t.metadata) == []


def test_another_database_could_take_the_tables() -> None:
    dialect = postgresql.dialect()  # type: ignore[no-untyped-call]
    for table in t.metadata.sorted_tables:
        assert "CREATE TABLE" in str(CreateTable(table).compile(dialect=dialect))
        for index in table.indexes:
            assert "CREATE INDEX" in str(CreateIndex(index).compile(dialect=dialect))


@pytest.fixture
def next_version(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A program of the future, with one more migration."""
    folder = tmp_path / "migrations"
    shutil.copytree(migration.FOLDER, folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "versions" / "v0002_more.py").write_text(
        "import sqlalchemy as sa\nfrom alembic import op\n"
        "revision = '0002'\ndown_revision = '0001'\n\n"
        "def upgrade():\n    op.add_column('client', sa.Column('weather', sa.String(8)))\n"
    )
    return folder


def test_tables_of_an_earlier_program_are_brought_up_to_date_after_a_backup(
    tmp_path: Path, next_version: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old = open_records(tmp_path / "records.sqlite", SECRET)
    add_client(old, Client("HERON-07"))
    monkeypatch.setattr(migration, "FOLDER", next_version)
    new = open_records(old.path, SECRET)
    with new.reading() as connection:
        assert migration.version_of(connection) == "0002"
        assert connection.exec_driver_sql("SELECT code, weather FROM client").all() == [
            ("HERON-07", None)
        ]
    (saved,) = tmp_path.glob("records-0001-until-*.sqlite")
    monkeypatch.undo()
    assert codes(open_records(saved, SECRET)) == ["HERON-07"]


def test_a_migration_that_fails_leaves_the_tables_as_they_were(
    tmp_path: Path, next_version: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old = open_records(tmp_path / "records.sqlite")
    broken = next_version / "versions" / "v0002_more.py"
    broken.write_text(broken.read_text() + "    raise RuntimeError('cut off')\n")
    monkeypatch.setattr(migration, "FOLDER", next_version)
    with pytest.raises(RuntimeError):
        open_records(old.path)
    monkeypatch.undo()
    with old.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), t.metadata) == []
    assert codes(open_records(old.path)) == []


def test_records_of_a_later_program_are_left_alone(
    tmp_path: Path, next_version: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(migration, "FOLDER", next_version)
    path = open_records(tmp_path / "records.sqlite").path
    monkeypatch.undo()
    with pytest.raises(RecordError, match="version '0002', but '0001' is the newest"):
        open_records(path)


def test_with_a_passphrase_nobody_else_reads_them(tmp_path: Path) -> None:
    records = open_records(tmp_path / "records.sqlite", SECRET)
    add_client(records, Client("HERON-07", card={"name": "Ada Heron"}))
    for path in tmp_path.iterdir():
        content = path.read_bytes()
        assert b"Ada Heron" not in content and not content.startswith(b"SQLite format 3\0")
    assert codes(open_records(records.path, SECRET)) == ["HERON-07"]
    for wrong in ("", "three herons pond"):
        with pytest.raises(LockedError, match="passphrase") as caught:
            open_records(records.path, wrong)
        assert SECRET not in str(caught.value)
    assert SECRET not in repr(records)


def test_plain_records_take_no_passphrase(records: Records) -> None:
    with pytest.raises(LockedError, match="not encrypted"):
        open_records(records.path, SECRET)


def test_an_sqlite_that_can_damage_a_log_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    check = recording_tables.check_sqlite
    monkeypatch.setattr(recording_tables, "check_sqlite", lambda: check((3, 40, 1)))
    with pytest.raises(RecordError, match=r"SQLite is 3\.40\.1"):
        open_records(tmp_path / "records.sqlite")
    assert list(tmp_path.iterdir()) == []


def test_a_locked_database_is_said_and_nothing_is_harmed(tmp_path: Path) -> None:
    records = open_records(tmp_path / "records.sqlite", wait_s=0.05)
    add_client(records, Client("HERON-07"))
    with closing(driver.connect(records.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(RecordError, match="another program holds the file"):
            add_client(records, Client("EGRET-01"))
        assert codes(records) == ["HERON-07"]
    add_client(records, Client("EGRET-01"))
    assert codes(records) == ["EGRET-01", "HERON-07"]


class Worse(Records):
    """Records on a disk with a fault."""

    pragma = ""

    def connect(self) -> Any:
        connection = super().connect()
        connection.execute(f"PRAGMA {self.pragma}")
        return connection


@pytest.mark.parametrize(
    ("pragma", "why"),
    [("max_page_count=1", "the disk is full"), ("query_only=ON", "the place is read-only")],
)
def test_a_disk_that_refuses_is_said_and_nothing_is_harmed(
    records: Records, pragma: str, why: str
) -> None:
    add_client(records, Client("HERON-07"))
    worse = Worse(records.path)
    worse.pragma = pragma
    with pytest.raises(RecordError, match=why) as caught:
        add_client(worse, Client("EGRET-01", card={"notes": "x" * 100_000}))
    assert "\n" not in str(caught.value)
    assert codes(records) == ["HERON-07"]


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("")
    with pytest.raises(RecordError, match="cannot be opened"):
        open_records(tmp_path / "taken" / "records.sqlite")


def test_what_is_no_database_is_said(tmp_path: Path) -> None:
    (tmp_path / "records.sqlite").write_text("a letter to somebody" * 100)
    with pytest.raises(RecordError, match="cannot be read"):
        open_records(tmp_path / "records.sqlite")


@pytest.mark.parametrize("passphrase", ["", SECRET])
def test_a_backup_is_whole_private_and_can_be_put_back(tmp_path: Path, passphrase: str) -> None:
    records = open_records(tmp_path / "records.sqlite", passphrase)
    add_client(records, Client("HERON-07"))
    saved = backup(records, tmp_path / "safe" / "copy.sqlite")
    if os.name == "posix":
        assert stat.S_IMODE(saved.stat().st_mode) == 0o600
    assert recording_tables.encrypted(saved) == bool(passphrase)
    add_client(records, Client("EGRET-01"))
    with pytest.raises(RecordError, match="is there already"):
        backup(records, saved)

    kept = restore(saved, records.path, passphrase)
    assert codes(open_records(records.path, passphrase)) == ["HERON-07"]
    assert kept is not None
    assert codes(open_records(kept, passphrase)) == ["EGRET-01", "HERON-07"]
    assert list((tmp_path / "safe").iterdir()) == [saved]


def test_a_backup_is_put_where_nothing_is_left(tmp_path: Path) -> None:
    records = open_records(tmp_path / "records.sqlite")
    add_client(records, Client("HERON-07"))
    saved = backup(records, tmp_path / "copy.sqlite")
    records.path.unlink()
    assert restore(saved, records.path) is None
    assert codes(open_records(records.path)) == ["HERON-07"]


def test_what_is_no_backup_is_not_put_in_place(records: Records, tmp_path: Path) -> None:
    add_client(records, Client("HERON-07"))
    other = tmp_path / "other.sqlite"
    with closing(driver.connect(other)) as connection:
        connection.execute("CREATE TABLE something (id INTEGER)")
    text = tmp_path / "text.sqlite"
    text.write_text("no database" * 100)
    for wrong in (other, text, tmp_path / "none.sqlite"):
        with pytest.raises(RecordError, match=r"but one is needed|cannot be read"):
            restore(wrong, records.path)
    assert codes(records) == ["HERON-07"]
