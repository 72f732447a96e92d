"""Files that are whole or not there: written aside, checked, and only then given their name."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from engine.errors import RecordError
from engine.session.recording_faults import cause


@contextmanager
def written_aside(path: Path) -> Iterator[Path]:
    """Yield the name of an empty file, private to its owner (0600), to be written in the block.

    When the block ends well the file is on the disk and takes the name ``path``, in place of an
    earlier one; else it is removed, and an earlier one stays. Raises RecordError when the disk
    refuses; the folder is made, for its owner alone, where it is not there.
    """
    aside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        os.close(os.open(aside, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600))
        try:
            yield aside
            with aside.open("rb+") as file:
                os.fsync(file.fileno())
            os.replace(aside, path)
        except BaseException:
            with suppress(OSError):
                aside.unlink()
            raise
    except OSError as error:
        why, action = cause(error)
        raise RecordError(
            f"The export {path} cannot be written: {why}; {action}, and export the session again: "
            "its recording is whole."
        ) from None
