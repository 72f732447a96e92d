"""Files that a verb writes of a recording: where they go, and how they are named."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ui.verbs.speech import print_json


def folder_for(recording: Path, asked: str | None, usual: str) -> Path:
    """Return the folder that was asked for, else the usual one beside the recording."""
    return Path(asked).expanduser() if asked else recording.parent / usual


def print_files(recording: Path, files: Sequence[Path], as_json: bool) -> None:
    """Print what was written, a line a file or as one JSON object."""
    if as_json:
        print_json({"recording": str(recording), "files": [str(file) for file in files]})
        return
    for file in files:
        print(file)
