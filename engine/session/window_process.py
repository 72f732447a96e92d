"""One window as a process of its own: started, written to, listened to, and ended.

The session's thread calls; a writer thread alone may wait for the window (a pipe takes 64 kB and
then waits), and a reader thread takes what the window says. The process is started afresh
(spawn), so that no window holds another's end of a pipe and each notices when the host is gone.
"""

from __future__ import annotations

import importlib
import math
import multiprocessing
import os
import queue
import signal
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from typing import Any

from engine.session.asks import Ask, Heartbeat, Ready
from engine.session.outbox import Outbox
from engine.session.quiet_start import no_interrupt

BEATS_EXPECTED = 3
"""A window that has given as many signs of life is expected to go on giving them."""

HEARD_OUT_S = 1.0
"""For how long what a window said before it ended is waited for."""

ORPHAN_S = 2.0
"""For how long a window may outlive its host."""


@dataclass(frozen=True)
class Window:
    """A window that a session shows.

    Attributes
    ----------
    name : as the operator knows it: ``desk``, ``client display``.
    target : ``"module:function"``, called as ``function(connection, ready)``.
    needed : no point may be earned while it is gone.
    two_way : it may ask for changes (the desk); the others only listen.
    """

    name: str
    target: str
    needed: bool = True
    two_way: bool = False


class Pulse:
    """How a window says that it is drawn and alive: `set`, at first and then about once a second.

    It has no lock that a dying window could leave locked.
    """

    def __init__(self, connection: Connection):
        self._connection = connection
        self._said_at = -1.0

    def set(self) -> None:
        """Say so; may be called as often as a frame."""
        now = time.monotonic()
        if now - self._said_at >= 1.0 or self._said_at < 0:
            self._said_at = now
            self.say("")

    def is_set(self) -> bool:
        """Tell whether `set` was called."""
        return self._said_at >= 0

    def say(self, why: str) -> None:
        """Say why the window ends."""
        with suppress(OSError):
            self._connection.send(why)


class WindowProcess:
    """A window's process from its start to its end; it is never started twice."""

    def __init__(self, window: Window, clock: Callable[[], float]):
        self.window = window
        self.started_at = clock()
        self.ready = False
        self.why = ""
        self._clock = clock
        self._outbox = Outbox()
        self._asks: queue.SimpleQueue[Ask] = queue.SimpleQueue()
        self._sending_since: float | None = None
        self._ended_at = math.inf
        self._beats = 0
        self._beat_at = self.started_at
        context = multiprocessing.get_context("spawn")
        if window.two_way:
            self._connection, far_end = context.Pipe(duplex=True)
        else:
            far_end, self._connection = context.Pipe(duplex=False)
        self._pulses, far_pulses = context.Pipe(duplex=False)
        self._process = context.Process(
            target=_enter,
            args=(window.target, far_end, far_pulses),
            name=f"nudgeline {window.name}",
            daemon=True,
        )
        with no_interrupt():
            self._process.start()
        far_end.close()
        far_pulses.close()
        self._threads = [
            threading.Thread(target=run, name=f"{window.name} {what}", daemon=True)
            for what, run in (("writer", self._write), ("reader", self._read))
        ]
        for thread in self._threads:
            thread.start()

    @property
    def pid(self) -> int | None:
        return self._process.pid

    @property
    def exit_code(self) -> int | None:
        """The status with which the process ended; None while it runs or is still heard out."""
        code = self._process.exitcode
        if code is None:
            return None
        self._ended_at = min(self._ended_at, self._clock())
        heard_out = not self._threads[-1].is_alive()
        return code if heard_out or self._clock() - self._ended_at > HEARD_OUT_S else None

    def send(self, message: Any) -> None:
        """Hand a message over; never waits for the window."""
        self._outbox.put(message)

    def asks(self) -> list[Ask]:
        """Return what the window asked for since the last call."""
        asked = []
        while not self._asks.empty():
            asked.append(self._asks.get())
        return asked

    def silent_s(self) -> float:
        """Return for how long a window that should be reading, or giving signs of life, is not."""
        now = self._clock()
        sending_since = self._sending_since
        unread = now - sending_since if sending_since is not None else 0.0
        quiet = now - self._beat_at if self._beats >= BEATS_EXPECTED else 0.0
        return max(unread, quiet)

    def end(self, grace_s: float) -> None:
        """See the process gone: it may leave by itself, then is asked to, then made to."""
        self._outbox.close()
        self._process.join(grace_s)
        if self._process.exitcode is None:
            self._process.terminate()
            self._process.join(0.5)
        if self._process.exitcode is None:
            self._process.kill()
            self._process.join()
        for thread in self._threads:
            thread.join(1.0)
        self._connection.close()
        self._pulses.close()

    def _write(self) -> None:
        while (message := self._outbox.take()) is not None:
            self._sending_since = self._clock()
            try:
                self._connection.send(message)
            except OSError:
                return
            finally:
                self._sending_since = None

    def _read(self) -> None:
        listened: list[Connection] = [self._pulses]
        if self.window.two_way:
            listened.append(self._connection)
        while listened:
            for source in wait(listened):
                assert isinstance(source, Connection)
                try:
                    self._hear(source.recv())
                except (EOFError, OSError):
                    listened.remove(source)

    def _hear(self, said: Ask | str) -> None:
        if isinstance(said, str) and said:
            self.why = said
        elif isinstance(said, str | Heartbeat):
            self._beats += 1
            self._beat_at = self._clock()
        if said == "" or isinstance(said, Ready):
            self.ready = True
        if not isinstance(said, str):
            self._asks.put(said)


def _enter(target: str, connection: Connection, pulses: Connection) -> None:
    """Run a window; standard output belongs to the host."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with suppress(OSError):
        os.dup2(2, 1)
    threading.Thread(target=_leave_with_the_host, name="host watch", daemon=True).start()
    pulse = Pulse(pulses)
    module, _, function = target.partition(":")
    try:
        getattr(importlib.import_module(module), function)(connection, pulse)
    except Exception as error:
        step = error.__traceback__
        while step is not None and step.tb_next is not None:
            step = step.tb_next
        place = f" ({step.tb_frame.f_globals['__name__']} {step.tb_lineno})" if step else ""
        pulse.say(f"{type(error).__name__}: {error}{place}")
        sys.exit(1)


def _leave_with_the_host() -> None:
    """End a window that hangs after the host is gone; one that does not has left by itself."""
    host = multiprocessing.parent_process()
    if host is not None:
        host.join()
        time.sleep(ORPHAN_S)
        os._exit(1)
