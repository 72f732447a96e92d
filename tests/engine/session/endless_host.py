"""Runs a host without end and says on standard output all that it hands over; the tests kill it.

A line is a word, a count of samples, and the moment on the clock that all processes share:
``samples`` when they are handed to the host, the kind of an event when the host tells of it. The
first five seconds of signal come at once, then 5 samples every 20 ms.
"""

from __future__ import annotations

import os
import random
import sys
import time
from collections import deque
from dataclasses import replace
from multiprocessing.connection import Connection
from pathlib import Path

from engine.chunk import chunk_of
from engine.clinic import Clinic
from engine.events import Event
from engine.session.asks import AskNudge, Ready
from engine.session.host import run_session
from engine.session.messages import ClientFrame, Goodbye
from engine.session.window_process import Pulse, Window
from engine.stream.messages import Data, Opened, Segment, SourceMessage
from tests.engine.session.examples import INFO, PROTOCOL, rhythm

AT_ONCE_S = 5.0
CHUNK = 5
QUICK = replace(PROTOCOL, hold_s=0.06, quiet_s=0.1)
"""So many points that each kill has some to lose."""

WINDOWS = (
    Window("desk", "tests.engine.session.endless_host:nudging", two_way=True),
    Window("client display", "tests.engine.session.windows:faithful"),
)


def say(word: str, n_samples: int) -> None:
    """Write one line past every buffer, so that a kill leaves it whole."""
    os.write(1, f"{word} {n_samples} {time.monotonic()}\n".encode())


class Endless:
    """A source at true rate, after what it has at once."""

    def __init__(self, seed: int):
        self._raw = rhythm(60.0, seed)
        self._coming: deque[SourceMessage] = deque([Opened(INFO), Segment(0.0, "start")])
        self._n = 0
        self._begin = time.monotonic() - AT_ONCE_S

    def start(self) -> None: ...
    def stop(self) -> None: ...
    def answer(self, key: str, value: str) -> None: ...

    def get(self, timeout_s: float) -> SourceMessage | None:
        if self._coming:
            return self._coming.popleft()
        wait_s = self._begin + (self._n + CHUNK) / INFO.sfreq - time.monotonic()
        if wait_s > 0:
            time.sleep(min(wait_s, timeout_s))
        if wait_s > timeout_s:
            return None
        raw = self._raw.take(range(self._n, self._n + CHUNK), axis=0, mode="wrap")
        self._n += CHUNK
        say("samples", self._n)
        return Data(chunk_of(raw, INFO.to_uv, None, time.monotonic()))


class Told:
    """An outlet that says what it is told of."""

    def event(self, event: Event) -> None:
        say(type(event).__name__, event.sample)

    def frame(self, frame: ClientFrame) -> None: ...


def nudging(connection: Connection, ready: Pulse) -> None:
    """A desk that changes a threshold now and then, until its host is gone."""
    connection.send(Ready())
    nudged = time.monotonic()
    try:
        while True:
            if connection.poll(0.1) and isinstance(connection.recv(), Goodbye):
                return
            if time.monotonic() - nudged > 0.3:
                nudged = time.monotonic()
                steps = random.choice([-1, 1])
                connection.send(AskNudge("smr.threshold", "key", steps=steps))
    except (EOFError, OSError):
        return


def main(folder: Path, seed: int, windows: bool) -> None:
    """Run until killed."""
    run_session(
        Endless(seed),
        QUICK,
        Clinic(recordings=folder),
        WINDOWS if windows else (),
        headless_seconds=3600.0,
        publisher=Told(),
        clock=time.monotonic,
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3] == "windows")
