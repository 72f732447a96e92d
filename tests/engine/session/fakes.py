"""A source that follows a script, outlets that remember, and a clock that the script moves."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

from engine.errors import ConfigError
from engine.events import Event
from engine.session.messages import ClientFrame
from engine.stream.messages import Data, SourceMessage


class ScriptedClock:
    """Stands still but for what the source's script moves it by."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


class ScriptedSource:
    """Gives the messages of a script in order; None in it passes time, and so does its end.

    With a scripted clock the time that passes is only told; without one it passes.
    """

    def __init__(self, script: Iterator[SourceMessage | None], clock: ScriptedClock | None = None):
        self.answers: list[tuple[str, str]] = []
        self.started = self.stopped = 0
        self._script = script
        self._clock = clock

    def start(self) -> None:
        self.started += 1

    def get(self, timeout_s: float) -> SourceMessage | None:
        message = next(self._script, None)
        if self._clock is None:
            if message is None:
                time.sleep(min(timeout_s, 0.005))
        elif isinstance(message, Data):
            self._clock.now = max(self._clock.now, message.chunk.arrival_s + 0.002)
        elif message is None:
            self._clock.now += timeout_s
        return message

    def answer(self, key: str, value: str) -> None:
        if value == "furlong":
            raise ConfigError("The unit is 'furlong', but V, mV or µV is accepted; choose one.")
        self.answers.append((key, value))

    def stop(self) -> None:
        self.stopped += 1


class Outlets:
    """A publisher that remembers, and may do something at an event."""

    def __init__(self, at: Callable[[Event], None] = lambda event: None) -> None:
        self.events: list[Event] = []
        self.frames: list[ClientFrame] = []
        self._at = at

    def event(self, event: Event) -> None:
        self.events.append(event)
        self._at(event)

    def frame(self, frame: ClientFrame) -> None:
        self.frames.append(frame)
