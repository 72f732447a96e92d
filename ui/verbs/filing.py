"""What becomes of the recordings of a session that is over: exported, and filed with the client."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from engine.errors import NudgelineError
from engine.export.session import export_all
from ui.verbs.export import FOLDER


def filed(paths: Sequence[Path], passphrase: str) -> list[str]:
    """Export closed recordings; return sentences that the operator should read.

    What is encrypted is not exported by itself: an export is readable to anybody.
    """
    if passphrase:
        return ["The recording is encrypted and was not exported; `nudgeline export last` does it."]
    sentences: list[str] = []
    for path in paths:
        try:
            sentences += export_all(path, path.parent / FOLDER).remarks
        except NudgelineError as error:
            sentences.append(str(error))
    return sentences
