"""Client frames on another computer: the newest one, whatever happens to the stream."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from engine.errors import NudgelineError
from engine.stream.discover import Wanted
from engine.stream.metadata import Description
from engine.stream.newest import NewestInlet, Reading
from engine.stream.outlets import FRAME_CHANNELS, FRAME_TYPE
from engine.stream.phases import PHASES, PROMPTS

FRESH_S = 1.0
"""A frame older than this says nothing about now."""


class SharedFrame(NamedTuple):
    """The fields of a client frame, in its order."""

    progress: float
    closeness: float
    clear: bool
    points: int
    phase: str
    prompt: str = ""


class ClientFrameInlet(NewestInlet[SharedFrame]):
    """Finds the one stream of client frames in reach, and finds it again after a loss.

    ``source_id`` chooses where several sessions publish.
    """

    def __init__(self, source_id: str = ""):
        super().__init__(
            Wanted(kind=FRAME_TYPE, source_id=source_id),
            _reading,
            fresh_s=FRESH_S,
            looking="looking for a session that publishes",
            absent="No session in reach publishes client frames; set publish = true on its "
            "computer, and the same scope and session_id on both.",
            gone="The session that published is gone; it is looked for again.",
            name="client frames",
        )


def _reading(stream: Description) -> Reading[SharedFrame]:
    problem = unlike_ours(stream)
    if problem:
        raise NudgelineError(problem)
    return frame_of


def unlike_ours(stream: Description) -> str:
    """Say why a stream of this type cannot be shown, ``""`` where it can."""
    labels = tuple(name for name, _ in FRAME_CHANNELS)
    if stream.labels == labels and stream.channel_format == "float32":
        return ""
    held = " ".join(filter(None, stream.labels)) or "channels without labels"
    return (
        f"{stream.title} holds {held} as {stream.channel_format}, but "
        f"{' '.join(labels)} as float32 are needed; "
        "use the same version of the program on both computers."
    )


def frame_of(values: list[float]) -> SharedFrame:
    """Read the channels of one sample; what is out of range is brought back into it."""
    finite = np.nan_to_num(values, posinf=0.0, neginf=0.0)
    progress, closeness, clear, points, phase, prompt = finite
    return SharedFrame(
        min(max(float(progress), 0.0), 1.0),
        min(max(float(closeness), 0.0), 1.0),
        bool(clear > 0.5),
        max(round(points), 0),
        _named(PHASES, phase),
        _named(PROMPTS, prompt),
    )


def _named(names: tuple[str, ...], code: float) -> str:
    return names[min(max(round(code), 0), len(names) - 1)]
