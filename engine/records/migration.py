"""Bringing a database of an earlier program to the tables of this one."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy.engine import Connection

FOLDER = Path(__file__).resolve().parent / "migrations"


def version_of(connection: Connection) -> str:
    """Return the version of a database, empty where it has no tables yet."""
    return MigrationContext.configure(connection).get_current_revision() or ""


def versions() -> tuple[str, ...]:
    """Return every version that this program knows, the first one first."""
    walked = ScriptDirectory(str(FOLDER)).walk_revisions()
    return tuple(script.revision for script in walked)[::-1]


def migrate(connection: Connection) -> None:
    """Bring the tables to the newest version, within the transaction that is open."""
    config = Config()
    config.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
