"""What can keep a recording from being written, said to the operator."""

from __future__ import annotations

import errno
from pathlib import Path

_CAUSES = (
    (
        (errno.ENOSPC, errno.EDQUOT, errno.EFBIG),
        "disk is full",
        "the disk is full",
        "free some space on it",
    ),
    (
        (errno.EROFS, errno.EACCES, errno.EPERM),
        "readonly",
        "the place is read-only",
        "make it writable",
    ),
    ((errno.EBUSY,), "locked", "another program holds the file", "close that program"),
    ((errno.ENOENT,), "unable to open", "the file or its folder is gone", "bring it back"),
)


def cause(error: Exception) -> tuple[str, str]:
    """Return why the disk refuses, and what to do about it."""
    number = error.errno if isinstance(error, OSError) else None
    text = str(error).lower()
    known = [
        (why, action)
        for numbers, words, why, action in _CAUSES
        if number in numbers or words in text
    ]
    other = (f"the disk answers with an error ({error})", "check the disk")
    return [*known, other][0]


def sentence(place: Path, error: Exception) -> str:
    """Return what is wrong with the recording at ``place`` and what to do."""
    why, action = cause(error)
    return (
        f"The recording {place} cannot be written: {why}; {action}: what is saved is whole, "
        "and the rest waits in memory until it can be written."
    )
