"""What becomes of the recordings of a session that is over: exported, and filed with the client."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from engine.errors import NudgelineError
from engine.export.session import export_all
from engine.records.filing import file_recording
from engine.records.opening import NAME, open_records
from ui.verbs.export import FOLDER


def filed(paths: Sequence[Path], passphrase: str) -> list[str]:
    """File closed recordings with their clients, and export them; return what is to be read.

    What is encrypted is not exported by itself: an export is readable to anybody.
    """
    sentences = _kept(paths, passphrase)
    if passphrase:
        said = "The recording is encrypted and was not exported; `nudgeline export last` does it."
        return [*sentences, said]
    for path in paths:
        try:
            sentences += export_all(path, path.parent / FOLDER).remarks
        except NudgelineError as error:
            sentences.append(str(error))
    return sentences


def _kept(paths: Sequence[Path], passphrase: str) -> list[str]:
    """File recordings in the records beside them; one that is not is filed by a later look."""
    sentences = []
    for path in paths:
        try:
            file_recording(open_records(path.with_name(NAME), passphrase), path)
        except NudgelineError as error:
            sentences.append(str(error))
    return sentences
