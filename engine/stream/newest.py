"""The newest sample of a small stream, whatever happens to it: found, lost, found again.

For streams of which only the last word counts, such as client frames or impedances. Nothing is
queued: a reader that comes late gets the newest.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Generic, TypeVar

import pylsl

from engine.errors import NudgelineError
from engine.stream.discover import Wanted, choose, look
from engine.stream.inlet import Inlet, InletLostError
from engine.stream.messages import Question
from engine.stream.metadata import Description, describe
from engine.stream.network import require_configured

WAIT_S = 0.1
LOOK_S = 1.0

Value = TypeVar("Value")
Reading = Callable[[list[float]], Value]


class NewestInlet(Generic[Value]):
    """Finds one stream, and finds it again after a loss. One thread inside owns the inlet.

    Parameters
    ----------
    wanted : which stream. reading : what reads a sample of it, given its description; raises
        NudgelineError where the stream cannot be used.
    fresh_s : what is older says nothing about now.
    looking, absent, gone : sentences for `trouble`.
    again_s : how long to wait before it is looked for again.
    """

    def __init__(
        self,
        wanted: Wanted,
        reading: Callable[[Description], Reading[Value]],
        *,
        fresh_s: float,
        looking: str,
        absent: str,
        gone: str,
        name: str,
        again_s: float = WAIT_S,
    ):
        self._wanted = wanted
        self._reading = reading
        self._fresh_s = fresh_s
        self._absent, self._gone = absent, gone
        self._again_s = again_s
        self._lock = threading.Lock()
        self._latest: tuple[Value, float] | None = None
        self._trouble = looking
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)

    def start(self) -> None:
        """Begin to look; SourceError where LSL's reach is not in force."""
        require_configured()
        self._thread.start()

    def latest(self) -> Value | None:
        """Return the newest value, or None while there is none that is fresh."""
        with self._lock:
            if self._latest is None or time.monotonic() - self._latest[1] > self._fresh_s:
                return None
            return self._latest[0]

    @property
    def trouble(self) -> str:
        """Why nothing comes, in one sentence; ``""`` while it does."""
        with self._lock:
            return self._trouble

    def let_go(self) -> None:
        """Ask the thread to end, and return at once; `stop` waits for it."""
        self._stop.set()

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
                self._say(self._gone)
            self._stop.wait(self._again_s)

    def _find(self) -> pylsl.StreamInfo:
        found = look(self._wanted, LOOK_S, self._stop.is_set)
        streams = [describe(info.as_xml()) for info in found]
        if not any(self._wanted.fits(stream) for stream in streams):
            raise NudgelineError(self._absent)
        chosen = choose(streams, self._wanted)
        if isinstance(chosen, Question):
            raise NudgelineError(f"{chosen.text.removesuffix('.')} (with --source-id).")
        return next(info for info in found if info.uid() == chosen.uid)

    def _follow(self, inlet: Inlet) -> None:
        try:
            read = self._reading(inlet.stream)
            while not self._stop.is_set():
                for pulled in inlet.pull(WAIT_S)[-1:]:
                    value = read(pulled.raw[-1].tolist())
                    with self._lock:
                        self._latest, self._trouble = (value, time.monotonic()), ""
        finally:
            inlet.close()

    def _say(self, trouble: str) -> None:
        with self._lock:
            self._trouble = trouble
