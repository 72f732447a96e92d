"""Client frames on another computer: the newest one, whatever happens to the stream."""

from __future__ import annotations

import threading
import time
from typing import NamedTuple

import numpy as np
import pylsl

from engine.errors import NudgelineError
from engine.stream.discover import Wanted, choose, look
from engine.stream.inlet import Inlet, InletLostError
from engine.stream.messages import Question
from engine.stream.metadata import Description, describe
from engine.stream.network import require_configured
from engine.stream.outlets import FRAME_CHANNELS, FRAME_TYPE
from engine.stream.phases import PHASES, PROMPTS

FRESH_S = 1.0
"""A frame older than this says nothing about now."""

WAIT_S = 0.1
LOOK_S = 1.0


class SharedFrame(NamedTuple):
    """The fields of a client frame, in its order."""

    progress: float
    closeness: float
    clear: bool
    points: int
    phase: str
    prompt: str = ""


class ClientFrameInlet:
    """Finds the one stream of client frames in reach, and finds it again after a loss.

    ``source_id`` chooses where several sessions publish. One thread inside owns the inlet.
    """

    def __init__(self, source_id: str = ""):
        self._wanted = Wanted(kind=FRAME_TYPE, source_id=source_id)
        self._lock = threading.Lock()
        self._latest: tuple[SharedFrame, float] | None = None
        self._trouble = "looking for a session that publishes"
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="client frames", daemon=True)

    def start(self) -> None:
        """Begin to look; SourceError where LSL's reach is not in force."""
        require_configured()
        self._thread.start()

    def latest(self) -> SharedFrame | None:
        """Return the newest frame, or None while there is none from the last second."""
        with self._lock:
            if self._latest is None or time.monotonic() - self._latest[1] > FRESH_S:
                return None
            return self._latest[0]

    @property
    def trouble(self) -> str:
        """Why no frames come, in one sentence; ``""`` while they do."""
        with self._lock:
            return self._trouble

    def stop(self) -> None:
        """End the thread and close the inlet; returns when both are gone."""
        self._stop.set()
        if self._thread.ident is not None:
            self._thread.join()

    def _run(self) -> None:
        while not self._stop.is_set():
            try:
                self._follow(Inlet(self._find()))
            except NudgelineError as error:
                self._say(str(error))
            except InletLostError:
                self._say("The session that published is gone; it is looked for again.")
            self._stop.wait(WAIT_S)

    def _find(self) -> pylsl.StreamInfo:
        found = look(self._wanted, LOOK_S, self._stop.is_set)
        streams = [describe(info.as_xml()) for info in found]
        if not any(self._wanted.fits(stream) for stream in streams):
            raise NudgelineError(
                "No session in reach publishes client frames; set publish = true on its computer, "
                "and the same scope and session_id on both."
            )
        chosen = choose(streams, self._wanted)
        if isinstance(chosen, Question):
            raise NudgelineError(f"{chosen.text.removesuffix('.')} (with --source-id).")
        return next(info for info in found if info.uid() == chosen.uid)

    def _follow(self, inlet: Inlet) -> None:
        try:
            problem = unlike_ours(inlet.stream)
            if problem:
                raise NudgelineError(problem)
            while not self._stop.is_set():
                for pulled in inlet.pull(WAIT_S)[-1:]:
                    frame = frame_of(pulled.raw[-1].tolist())
                    with self._lock:
                        self._latest, self._trouble = (frame, time.monotonic()), ""
        finally:
            inlet.close()

    def _say(self, trouble: str) -> None:
        with self._lock:
            self._trouble = trouble


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
