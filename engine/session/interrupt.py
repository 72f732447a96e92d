"""Ctrl-C and a polite end from the system, taken as a wish and answered in order."""

from __future__ import annotations

import signal
import threading
from types import FrameType, TracebackType
from typing import Any, Self


class Interrupt:
    """While it is entered, ``asked`` names the signal that came; nothing is torn apart by one.

    Outside the main thread, where Python gives nobody a signal, it does nothing.
    """

    def __init__(self) -> None:
        self.asked = ""
        self._before: dict[signal.Signals, Any] = {}

    def __enter__(self) -> Self:
        if threading.current_thread() is threading.main_thread():
            for number in (signal.SIGINT, signal.SIGTERM):
                self._before[number] = signal.signal(number, self._take)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)

    def _take(self, number: int, frame: FrameType | None) -> None:
        self.asked = "Ctrl-C" if number == signal.SIGINT else "the system asked"
