"""The desk's end of the pipe: one thread reads, one writes, the window never waits.

Reading ends at end of file, which the window learns as `Gone`: the host is no more.
"""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import dataclass
from multiprocessing.connection import Connection
from queue import SimpleQueue

from engine.session.asks import Ask
from engine.session.foresight import Foresight
from engine.session.messages import Batch, Status, ToDesk


@dataclass(frozen=True)
class Gone:
    """The pipe is closed from the other side."""


Incoming = ToDesk | Gone


class Link:
    """Carries messages between the pipe and the window's own thread."""

    def __init__(self, connection: Connection):
        self._connection = connection
        self._inbox: deque[Incoming] = deque()
        self._outbox: SimpleQueue[Ask | None] = SimpleQueue()
        self._threads = [
            threading.Thread(target=self._read, name="desk-read", daemon=True),
            threading.Thread(target=self._write, name="desk-write", daemon=True),
        ]

    def start(self) -> None:
        """Begin to read and write."""
        for thread in self._threads:
            thread.start()

    def send(self, ask: Ask) -> None:
        """Hand an ask to the writer; returns at once."""
        self._outbox.put(ask)

    def take(self) -> list[Incoming]:
        """Return everything that arrived, in order.

        Batches that stand side by side are joined, and of several `Status` or `Foresight` only
        the newest is kept: a window that was busy for a moment catches up in one step.
        """
        messages: list[Incoming] = []
        while self._inbox:
            message = self._inbox.popleft()
            last = messages[-1] if messages else None
            if isinstance(message, Batch) and isinstance(last, Batch):
                messages[-1] = last.joined(message)
            elif isinstance(message, Status | Foresight) and type(message) is type(last):
                messages[-1] = message
            else:
                messages.append(message)
        return messages

    def stop(self) -> None:
        """Send what is left and end the writer; the reader ends with the process."""
        self._outbox.put(None)
        self._threads[1].join(timeout=1.0)

    def _read(self) -> None:
        try:
            while True:
                self._inbox.append(self._connection.recv())
        except (EOFError, OSError):
            self._inbox.append(Gone())

    def _write(self) -> None:
        try:
            while (ask := self._outbox.get()) is not None:
                self._connection.send(ask)
        except (BrokenPipeError, OSError):
            return
