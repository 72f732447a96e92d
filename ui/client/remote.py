"""The client display on another computer: it hears client frames over LSL, and only frames.

Volume, screen and scene are this computer's own (``--scene``); what the operator decides about
them on the desk does not travel.
"""

from __future__ import annotations

import signal
import sys
from dataclasses import replace
from typing import Protocol

from PyQt6.QtCore import QTimer
from PyQt6.QtWidgets import QApplication

from engine.session.messages import ClientControl, ClientFrame
from engine.stream.client_frames import ClientFrameInlet, SharedFrame
from ui.client.awake import keep_awake
from ui.client.window import ClientWindow
from ui.client.words import WAITING

LOOK_MS = 20


class Frames(Protocol):
    """Where the frames come from; `ClientFrameInlet` is one."""

    def latest(self) -> SharedFrame | None: ...
    @property
    def trouble(self) -> str: ...


class Watch:
    """Turns what an inlet knows into what the window is to show."""

    def __init__(self, frames: Frames) -> None:
        self._frames = frames
        self._shown = ClientFrame(0.0, 0.0, True, 0, WAITING)
        self._said = ""

    def frame(self) -> ClientFrame:
        """Return the newest frame; without one, the last as it was, waiting."""
        newest = self._frames.latest()
        if newest is None:
            self._shown = replace(self._shown, progress=0.0, clear=True, phase=WAITING)
        else:
            self._shown = ClientFrame(*newest)
        return self._shown

    def news(self) -> str:
        """Return why no frames come, once each time the reason changes; else nothing."""
        trouble = self._frames.trouble
        new, self._said = trouble != self._said, trouble
        return trouble if new else ""


def show(full_screen: bool = False, source_id: str = "", scene: str = "shore") -> int:
    """Show the frames of a desk that publishes them, until the window is closed.

    LSL's reach must be in force (`engine.stream.network.configure`); SourceError otherwise.
    """
    inlet = ClientFrameInlet(source_id)
    inlet.start()
    application = QApplication(["nudgeline client"])
    signal.signal(signal.SIGINT, lambda *_: application.quit())
    window = ClientWindow(closable=True)
    watch = Watch(inlet)

    def look() -> None:
        window.hear(watch.frame())
        if news := watch.news():
            print(news, file=sys.stderr, flush=True)

    timer = QTimer()
    timer.timeout.connect(look)
    timer.start(LOOK_MS)
    window.begin()
    window.hear(ClientControl(scene=scene, full_screen=full_screen))
    keep_awake()
    status = application.exec()
    inlet.stop()
    return status
