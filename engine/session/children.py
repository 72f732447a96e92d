"""The windows of a session: started, watched, started again when they die, ended with it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from engine.session.asks import Ask
from engine.session.messages import Goodbye
from engine.session.window_process import Window, WindowProcess


@dataclass(frozen=True)
class Patience:
    """Seconds: to get ready, to be silent; and between starts, doubling up to the last."""

    ready_s: float = 30.0
    silent_s: float = 10.0
    first_wait_s: float = 0.25
    longest_wait_s: float = 8.0
    goodbye_s: float = 2.0
    n_starts: int = 2


@dataclass(frozen=True)
class WindowReady:
    window: Window


@dataclass(frozen=True)
class WindowGone:
    """A window that was ready is no more; ``left`` when it ended by itself and in order."""

    window: Window
    why: str
    left: bool


@dataclass(frozen=True)
class WindowGivenUp:
    """A window did not get ready, twice: it is not started again."""

    window: Window
    why: str


Happening = WindowReady | WindowGone | WindowGivenUp


@dataclass
class _Place:
    """Where a window's process stands, or is to stand again."""

    window: Window
    process: WindowProcess | None = None
    ready: bool = False
    start_at: float = 0.0
    failures: int = 0
    wait_s: float = 0.0
    given_up: bool = False


class Children:
    """Every window of a session. All is called from one thread, and nothing waits but `stop`."""

    def __init__(
        self,
        windows: Sequence[Window],
        clock: Callable[[], float],
        patience: Patience | None = None,
    ):
        self._clock = clock
        self._patience = patience or Patience()
        self._places = {window.name: _Place(window) for window in windows}
        self._last_asks: list[Ask] = []
        self._ending: list[threading.Thread] = []

    def poll(self) -> list[Happening]:
        """Start what is due, look after what runs, and return what happened to the windows."""
        return [item for place in self._places.values() for item in self._look_after(place)]

    def send(self, name: str, message: Any) -> None:
        """Send to a window, if it is ready to hear; a gone one is told anew when it is back."""
        place = self._places[name]
        if place.ready and place.process is not None:
            place.process.send(message)

    def asks(self) -> list[Ask]:
        """Return what the windows asked for since the last call."""
        asks, self._last_asks = self._last_asks, []
        for place in self._places.values():
            if place.process is not None:
                asks += place.process.asks()
        return asks

    def is_ready(self, name: str) -> bool:
        """Tell whether a window is drawn and listening."""
        return name in self._places and self._places[name].ready

    def pids(self) -> tuple[int, ...]:
        """Return the processes that run."""
        processes = [place.process for place in self._places.values()]
        return tuple(p.pid for p in processes if p is not None and p.pid is not None)

    def stop(self) -> None:
        """Say goodbye to all, and see every process gone."""
        running = [p.process for p in self._places.values() if p.process is not None]
        for process in running:
            process.send(Goodbye())
        deadline = self._clock() + self._patience.goodbye_s
        for process in running:
            process.end(max(0.0, deadline - self._clock()))
        for thread in self._ending:
            thread.join()
        self._places.clear()

    def _look_after(self, place: _Place) -> list[Happening]:
        now = self._clock()
        process = place.process
        if process is None:
            if not place.given_up and now >= place.start_at:
                place.process = WindowProcess(place.window, self._clock)
            return []
        if process.exit_code is not None:
            why = process.why or f"it ended with status {process.exit_code}"
            return self._lost(place, process, why)
        if place.ready and process.silent_s() > self._patience.silent_s:
            return self._lost(place, process, f"it did not answer for {process.silent_s():.0f} s")
        if not place.ready and process.ready:
            place.ready, place.failures = True, 0
            return [WindowReady(place.window)]
        if not place.ready and now - process.started_at > self._patience.ready_s:
            return self._lost(place, process, f"it was not ready in {self._patience.ready_s:g} s")
        return []

    def _lost(self, place: _Place, process: WindowProcess, why: str) -> list[Happening]:
        left = process.exit_code == 0
        was_ready, place.ready, place.process = place.ready, False, None
        self._last_asks += process.asks()
        ending = threading.Thread(target=process.end, args=(0.0,), daemon=True)
        ending.start()  # a window that hangs is made to go without anybody waiting for it
        self._ending = [*(thread for thread in self._ending if thread.is_alive()), ending]
        lasted_s = self._clock() - process.started_at
        calm = was_ready and lasted_s > 60.0
        longer = min(2 * place.wait_s, self._patience.longest_wait_s)
        place.wait_s = self._patience.first_wait_s if calm or not place.wait_s else longer
        place.start_at = self._clock() + place.wait_s
        if was_ready:
            return [WindowGone(place.window, why, left)]
        place.failures += 1
        if place.failures >= self._patience.n_starts:
            place.given_up = True
            return [WindowGivenUp(place.window, why)]
        return []
