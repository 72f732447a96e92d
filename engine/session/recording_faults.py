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


def sentence(place: Path, error: Exception) -> str:
    """Return what is wrong with the recording at ``place`` and what to do."""
    number = error.errno if isinstance(error, OSError) else None
    text = str(error).lower()
    known = [
        (cause, action)
        for numbers, words, cause, action in _CAUSES
        if number in numbers or words in text
    ]
    other = (f"the disk answers with an error ({error})", "check the disk")
    cause, action = [*known, other][0]
    return (
        f"The recording {place} cannot be written: {cause}; {action}: what is saved is whole, "
        "and the rest waits in memory until it can be written."
    )
