"""The clinician's window as a process of its own: `main` is its entry.

It knows the session only through the pipe. Two threads of `Link` read and write; everything else,
and all that is drawn, happens on the one clock of the window's own thread.
"""

from __future__ import annotations

import signal
import sys
from multiprocessing.connection import Connection
from typing import Protocol

from PyQt6.QtCore import Qt, QTimer
from PyQt6.QtGui import QGuiApplication
from PyQt6.QtWidgets import QApplication

from engine.session.asks import Heartbeat, Ready
from ui.monitor.desk import DeskWindow
from ui.monitor.link import Link

FRAME_MS = 31


class Event(Protocol):
    """What a parent hands in to learn that the window is drawn."""

    def set(self) -> None: ...


class Clock:
    """Draws 30 times a second, and tells the host each second how often it came to that."""

    def __init__(self, window: DeskWindow, link: Link):
        self._window, self._link = window, link
        self._n_painted = 0
        self._frames = QTimer()
        self._frames.setTimerType(Qt.TimerType.PreciseTimer)
        self._frames.timeout.connect(self._frame)
        self._beats = QTimer()
        self._beats.timeout.connect(self._beat)

    def start(self) -> None:
        """Begin to draw."""
        self._frames.start(FRAME_MS)
        self._beats.start(1000)

    def _frame(self) -> None:
        for message in self._link.take():
            self._window.receive(message)
        self._window.frame()

    def _beat(self) -> None:
        painted = self._window.n_painted
        self._link.send(Heartbeat(float(max(0, painted - self._n_painted))))
        self._n_painted = painted


def main(
    connection: Connection,
    ready_event: Event | None = None,
    size: tuple[int, int] | None = None,
) -> None:
    """Show the desk at the end of a pipe until the host says goodbye or is gone.

    ``size`` in logical pixels; without it the window fills the screen.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    QGuiApplication.setHighDpiScaleFactorRoundingPolicy(
        Qt.HighDpiScaleFactorRoundingPolicy.PassThrough
    )
    app = QApplication(sys.argv[:1])
    app.setApplicationName("Nudgeline")
    link = Link(connection)
    window = DeskWindow(link.send)
    screen = QGuiApplication.primaryScreen()
    if size is not None:
        window.resize(*size)
        window.show()
    else:
        if screen is not None:
            window.setGeometry(screen.availableGeometry())
        window.showMaximized()
    clock = Clock(window, link)

    def drawn() -> None:
        link.start()
        link.send(Ready())
        if ready_event is not None:
            ready_event.set()
        clock.start()

    faults: list[BaseException] = []

    def failed(_: object, fault: BaseException, __: object) -> None:
        faults.append(fault)
        app.exit(1)

    sys.excepthook = failed
    QTimer.singleShot(0, drawn)
    app.exec()
    link.stop()
    if faults:
        raise faults[0]
