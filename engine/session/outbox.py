"""What waits to be sent to one window.

Events wait in a lossless line. Pictures of the moment wait one a kind: a newer one takes the
place of the one that was not sent yet, and batches are joined, so that a window which falls
behind gets the newest, and nothing grows but what must not be lost.
"""

from __future__ import annotations

import threading
from collections import deque
from typing import Any

from engine.session.foresight import Foresight
from engine.session.messages import Batch, ClientFrame, Status

_PICTURES = (Batch, Status, ClientFrame, Foresight)


class Outbox:
    """Filled by the session's thread, emptied by the window's writer thread."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._line: deque[Any] = deque()
        self._pictures: dict[type, Any] = {}
        self._closed = False

    def put(self, message: Any) -> None:
        """Add a message; never waits."""
        with self._changed:
            if isinstance(message, _PICTURES):
                before = self._pictures.get(type(message))
                if isinstance(before, Batch) and isinstance(message, Batch):
                    message = before.joined(message)
                self._pictures[type(message)] = message
            else:
                self._line.append(message)
            self._changed.notify()

    def take(self) -> Any | None:
        """Wait for the next message, events first; None when the outbox is closed and empty."""
        with self._changed:
            while not self._line and not self._pictures:
                if self._closed:
                    return None
                self._changed.wait()
            if self._line:
                return self._line.popleft()
            return self._pictures.pop(next(iter(self._pictures)))

    def close(self) -> None:
        """Let `take` return None once all is sent."""
        with self._changed:
            self._closed = True
            self._changed.notify()
