"""Where a passphrase comes from: the environment or the keyboard, never the command line.

What stands on a command line is seen by every program and kept in histories.
"""

from __future__ import annotations

import os
import sys
from getpass import getpass
from pathlib import Path

from engine.session.recording_tables import encrypted

VARIABLE = "NUDGELINE_PASSPHRASE"


def passphrase_for(path: Path) -> str:
    """Return the passphrase of an existing file, empty where it is not encrypted.

    On a terminal it is asked for; where nobody can be asked it is empty too, and opening the
    file says what is needed.
    """
    if not path.is_file() or not encrypted(path):
        return ""
    given = os.environ.get(VARIABLE, "")
    if given or not sys.stdin.isatty():
        return given
    return getpass(f"Passphrase of {path.name}: ", stream=sys.stderr)


def passphrase_to_record_with(records: Path) -> str:
    """Return the passphrase that new recordings are encrypted with; empty for none.

    It is that of the clients' database where that is there, and of the environment before.
    """
    if records.is_file() and records.stat().st_size:
        return passphrase_for(records)
    return os.environ.get(VARIABLE, "")
