"""An event between two processes that needs no answer from the other side.

`multiprocessing.Event.set` waits until every waiting process has taken notice, and so for ever on
one that was killed. A pipe asks for nothing, and its end, the other process gone, is an event too.
"""

from __future__ import annotations

import contextlib
import multiprocessing
from multiprocessing.connection import Connection


class PipeEvent:
    """One end: the one process sets, the other waits."""

    def __init__(self, connection: Connection):
        self._connection = connection

    def set(self) -> None:
        """Let the other side see that it is set; nothing happens when nobody is there."""
        with contextlib.suppress(OSError):
            self._connection.send(True)

    def is_set(self) -> bool:
        """Tell whether it was set, or the other side is gone."""
        return self.wait(0.0)

    def wait(self, timeout: float | None = None) -> bool:
        """Wait until it is set; False after ``timeout`` seconds."""
        try:
            return self._connection.poll(timeout)
        except OSError:
            return True


def pipe_event() -> tuple[PipeEvent, PipeEvent]:
    """Return (the end that waits, the end that sets)."""
    waits, sets = multiprocessing.Pipe(duplex=False)
    return PipeEvent(waits), PipeEvent(sets)
