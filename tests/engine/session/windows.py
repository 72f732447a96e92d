"""Windows without a picture, which the tests of a session start as processes."""

from __future__ import annotations

import os
import signal
import sys
import time
from multiprocessing.connection import Connection

from engine.session.asks import AskNote, AskQuit, Heartbeat, Ready
from engine.session.messages import Goodbye
from engine.session.window_process import Pulse


def faithful(connection: Connection, ready: Pulse) -> None:
    """Listen until the end."""
    ready.set()
    try:
        while not isinstance(connection.recv(), Goodbye):
            pass
    except EOFError:
        pass


def echo(connection: Connection, ready: Pulse) -> None:
    """A desk that says Ready, and gives every message back as a note, its kind before it."""
    connection.send(Ready())
    while not isinstance(said := connection.recv(), Goodbye):
        connection.send(AskNote(f"{type(said).__name__} {said}"))


def quitter(connection: Connection, ready: Pulse) -> None:
    """A desk that is closed as soon as it hears something."""
    connection.send(Ready())
    connection.recv()
    connection.send(AskQuit())


def dies(connection: Connection, ready: Pulse) -> None:
    """Die without a word at the first message."""
    ready.set()
    connection.recv()
    os._exit(3)


def raises(connection: Connection, ready: Pulse) -> None:
    """Fail at the first message."""
    ready.set()
    connection.recv()
    raise ValueError("no such scene")


def hangs(connection: Connection, ready: Pulse) -> None:
    """Never read a message, and refuse to be asked to leave."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    ready.set()
    time.sleep(600)


def falls_silent(connection: Connection, ready: Pulse) -> None:
    """Give signs of life, and then no more."""
    for _ in range(3):
        connection.send(Heartbeat(30.0))
    ready.set()
    while True:
        connection.recv()


def never_ready(connection: Connection, ready: Pulse) -> None:
    time.sleep(600)


def dies_at_once(connection: Connection, ready: Pulse) -> None:
    sys.exit(7)


def chatty(connection: Connection, ready: Pulse) -> None:
    """Write on standard output, which is the host's."""
    print("a window speaks")
    ready.set()
    connection.recv()
