"""The forecast of a running session, made in a process of its own, off the real-time path.

A thread of the host owns that process and their pipe: it hands over the newest request and waits
for the answer. A request that is overtaken by a newer one is dropped; a process that dies is
started again, and twice in a row means that the desk goes without a forecast, and says so.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
from dataclasses import dataclass
from multiprocessing.connection import Connection

from engine.reward.forecast import Forecaster
from engine.reward.outlook import Outlook, look_ahead
from engine.reward.rate_map import RateMap, rate_map
from engine.reward.recent import Window
from engine.session.quiet_start import no_interrupt
from engine.settings import Settings
from engine.signal.grid import Grid

MOST_FAILURES = 2
END_WITHIN_S = 1.0
MINUTE_S = 60.0


@dataclass(frozen=True, eq=False)
class ForesightRequest:
    """Everything that a forecast is made from; ``mapped`` names the two bands of the map."""

    window: Window
    grid: Grid
    settings: Settings
    steps: dict[str, float]
    zone: tuple[float, float]
    above: tuple[bool, ...]
    muscle_raised: bool
    mapped: tuple[str, str] | None


@dataclass(frozen=True, eq=False)
class Foresight:
    """What the desk is told: all of it for ``settings``, which may have changed since.

    ``last_minute`` is the rate that the last clear minute would have had at them; None while
    there is none.
    """

    settings: Settings
    outlook: Outlook
    map: RateMap | None
    last_minute: float | None


def foresee(request: ForesightRequest) -> Foresight:
    """Make the forecast that is asked for."""
    settings = request.settings
    forecaster = Forecaster(request.window, request.grid, request.above)
    outlook = look_ahead(
        forecaster,
        settings,
        request.steps,
        request.zone,
        request.above,
        request.muscle_raised,
    )
    minute = request.window.last_clear(MINUTE_S)
    last_minute = None
    if minute.clear_s >= MINUTE_S / 2:
        last_minute = Forecaster(minute, request.grid, request.above).rate(settings)
    picture = None
    if forecaster.enough and request.mapped is not None:
        picture = rate_map(forecaster, settings, *request.mapped)
    return Foresight(settings, outlook, picture, last_minute)


def main(connection: Connection) -> None:
    """Answer requests until the pipe ends; entry of the process."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(5)
    with contextlib.suppress(EOFError, OSError):
        while True:
            connection.send(foresee(connection.recv()))


class Foreseer:
    """The host's side. `ask` and `take` never wait."""

    def __init__(self) -> None:
        self.given_up = False
        self._wanted: ForesightRequest | None = None
        self._found: Foresight | None = None
        self._news = threading.Condition()
        self._over = False
        self._thread = threading.Thread(target=self._run, name="foresight", daemon=True)
        self._thread.start()

    def ask(self, request: ForesightRequest) -> None:
        """Ask for a forecast, in the place of one that was not begun yet."""
        with self._news:
            self._wanted = request
            self._news.notify()

    def take(self) -> Foresight | None:
        """Return the newest forecast, once."""
        with self._news:
            found, self._found = self._found, None
        return found

    def stop(self) -> None:
        """End the process and the thread."""
        with self._news:
            self._over = True
            self._news.notify()
        self._thread.join()

    def _run(self) -> None:
        failures = 0
        while failures < MOST_FAILURES and not self._over:
            ours, theirs = multiprocessing.Pipe()
            context = multiprocessing.get_context("spawn")
            process = context.Process(target=main, args=(theirs,), daemon=True)
            with no_interrupt():
                process.start()
            theirs.close()
            try:
                while (request := self._next()) is not None:
                    ours.send(request)
                    while not ours.poll(0.1):
                        if self._over:
                            return
                    answer = ours.recv()
                    failures = 0
                    with self._news:
                        self._found = answer
            except (EOFError, OSError):
                failures += 1
            finally:
                ours.close()
                process.join(END_WITHIN_S)
                if process.is_alive():
                    process.kill()
                    process.join()
        self.given_up = not self._over

    def _next(self) -> ForesightRequest | None:
        """Wait for a request; None when it is over."""
        with self._news:
            self._news.wait_for(lambda: self._over or self._wanted is not None)
            wanted, self._wanted = self._wanted, None
            return None if self._over else wanted
