"""The client display: a window that listens, shows a scene and sounds. It changes nothing.

Three things happen at once here: a thread that reads the pipe, the window's own thread (timer,
drawing, decisions about sound), and the audio device's thread, which takes blocks from the mixer.
"""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from multiprocessing.connection import Connection
from typing import Any, Protocol

from PyQt6.QtCore import QObject, QRectF, QSize, Qt, QTimer, pyqtSignal
from PyQt6.QtGui import (
    QCloseEvent,
    QGuiApplication,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PyQt6.QtWidgets import QApplication, QWidget

from engine.session.messages import ClientControl, ClientFrame, Goodbye, ToClient
from ui.client.awake import keep_awake
from ui.client.cues import Cues
from ui.client.farewell import Farewell
from ui.client.mixer import Mixer
from ui.client.pace import SHORTEST_MS, next_interval_ms
from ui.client.scenes import begun, scene_called
from ui.client.screens import place, place_first
from ui.client.sound import Player, SoundError
from ui.client.words import NO_SOUND

CURSOR_MS = 2000
SETTLE_MS = 250
"""The picture is painted anew once the window's size was left alone for so long."""
RAISE_MS = 2000
"""A desk that opens later may lie over it by then."""
LONGEST_STEP_S = 0.25
SMALLEST = QSize(160, 90)


class Sign(Protocol):
    """What says that the window is drawn and alive; may be set as often as a frame."""

    def set(self) -> None: ...


class Listener(QObject):
    """Waits in a thread of its own for messages, and brings them to the window's thread."""

    heard = pyqtSignal(object)

    def __init__(self, receive: Callable[[], ToClient]) -> None:
        super().__init__()
        self._receive = receive
        self._thread = threading.Thread(target=self._listen, name="client-read", daemon=True)

    def start(self) -> None:
        """Begin to listen; `Goodbye` comes last, also when the other side is simply gone."""
        self._thread.start()

    def _listen(self) -> None:
        message: ToClient | None = None
        while not isinstance(message, Goodbye):
            try:
                message = self._receive()
            except (EOFError, OSError):
                message = Goodbye()
            self.heard.emit(message)


class ClientWindow(QWidget):
    """The scene, full screen or not. Its keys only leave full screen."""

    def __init__(self, sign: Sign | None = None, closable: bool = False) -> None:
        super().__init__()
        self._sign = sign
        self._closable = closable
        self._control = ClientControl()
        self._placed = (self._control.screen, self._control.full_screen)
        self._frame: ClientFrame | None = None
        self._scene = scene_called(self._control.scene)
        self._view: Any = self._scene.first()
        self._farewell = Farewell()
        self._player = Player(Mixer(self._control.volume))
        self._cues = Cues(self._player.mixer)
        self._sound_missing = ""
        self._drawn_at_size = QSize()
        self.frames_drawn = 0
        self.setWindowTitle("Nudgeline")
        self.setMinimumSize(SMALLEST)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAttribute(Qt.WidgetAttribute.WA_ShowWithoutActivating)  # the desk keeps the keys
        self.setMouseTracking(True)
        self._timer = self._every(SHORTEST_MS, self._tick)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._slow = self._every(1000, self._each_second)
        self._cursor = self._every(CURSOR_MS, self._hide_cursor, once=True)
        self._settle = self._every(SETTLE_MS, self._settled, once=True)
        self._then = self._second_began = time.monotonic()
        self._worked_s = time.thread_time()
        application = QGuiApplication.instance()
        assert isinstance(application, QGuiApplication)
        self._application = application
        application.screenRemoved.connect(self._screens_changed)
        application.screenAdded.connect(self._screens_changed)

    @property
    def sound_missing(self) -> str:
        """Why nothing can be heard; empty while sound plays."""
        return self._sound_missing

    @property
    def view(self) -> Any:
        """The moment of the scene that is shown."""
        return self._view

    def begin(self) -> None:
        """Show the window, open the sound and start to move."""
        place_first(self)
        self._every(RAISE_MS, self.raise_, once=True).start()
        self._open_sound()
        self._cursor.start()
        self._slow.start()
        self._timer.start()
        self._then = time.monotonic()

    def hear(self, message: ToClient) -> None:
        """Take in a message from the host."""
        if isinstance(message, ClientFrame):
            self._frame = message
            with self._player.lock:
                self._cues.frame(message)
        elif isinstance(message, ClientControl):
            self._take_control(message)
        elif isinstance(message, Goodbye):
            self._closable = True
            self.close()
            QApplication.quit()

    def advance(self, dt_s: float) -> None:
        """Move the scene on by ``dt_s``."""
        with self._player.lock:
            self._cues.passed(dt_s)
        if self._frame is not None:
            closeness = self._control.closeness
            self._view = self._scene.step(self._view, self._frame, dt_s, closeness)
        self._farewell.passed(dt_s)
        audible = not self._control.muted and self._control.volume > 0
        sign = NO_SOUND if self._sound_missing and audible else ""
        self._view = replace(self._view, sign=sign)

    # ---- Qt's calls ---------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent | None) -> None:
        painter = QPainter(self)
        if self._settle.isActive() and not self._drawn_at_size.isEmpty():
            painter.scale(
                self.width() / self._drawn_at_size.width(),
                self.height() / self._drawn_at_size.height(),
            )
        else:
            self._drawn_at_size = self.size()
        rect = QRectF(0, 0, self._drawn_at_size.width(), self._drawn_at_size.height())
        self._scene.paint(painter, rect, self._view)
        self._farewell.paint(painter, rect)
        painter.end()
        self.frames_drawn += 1

    def resizeEvent(self, event: QResizeEvent | None) -> None:
        self._settle.start()

    def keyPressEvent(self, event: QKeyEvent | None) -> None:
        leaving = (Qt.Key.Key_Escape, Qt.Key.Key_F11)
        if event is not None and event.key() in leaving and self.isFullScreen():
            self.showNormal()

    def mouseMoveEvent(self, event: QMouseEvent | None) -> None:
        self.unsetCursor()
        self._cursor.start()

    def closeEvent(self, event: QCloseEvent | None) -> None:
        logging_out = self._application.isSavingSession()
        if event is not None and not self._closable and not logging_out:
            event.ignore()  # the desk closes it; nothing here may change the session
            return
        self._timer.stop()
        self._slow.stop()
        self._player.close()

    # ---- inside -------------------------------------------------------------------------

    def _every(self, interval_ms: int, do: Callable[[], None], once: bool = False) -> QTimer:
        timer = QTimer(self)
        timer.setInterval(interval_ms)
        timer.setSingleShot(once)
        timer.timeout.connect(do)
        return timer

    def _hide_cursor(self) -> None:
        self.setCursor(Qt.CursorShape.BlankCursor)

    def _take_control(self, control: ClientControl) -> None:
        if control.scene != self._control.scene:
            size, scale = self._drawn_at_size, self.devicePixelRatioF()
            self._farewell.take(self._scene, self._view, size, scale)
            self._scene = scene_called(control.scene)
            self._view = begun(self._scene, self._view)
            self.update()
        self._control = control
        with self._player.lock:
            self._cues.control(control)
        if self._placed != (control.screen, control.full_screen):
            self._placed = (control.screen, control.full_screen)
            place(self, control.screen, control.full_screen)

    def _screens_changed(self, _screen: object) -> None:
        if self._control.screen >= 0 or self.isFullScreen():
            place(self, self._control.screen, self._control.full_screen)

    def _settled(self) -> None:
        self._drawn_at_size = self.size()
        self.update()

    def _tick(self) -> None:
        now = time.monotonic()
        before, fading = self._view, self._farewell.strength > 0
        self.advance(min(now - self._then, LONGEST_STEP_S))
        self._then = now
        if self._view != before or fading or self.frames_drawn == 0:
            self.update()
        if self._sign is not None and self.frames_drawn > 0:
            self._sign.set()

    def _each_second(self) -> None:
        now, worked_s = time.monotonic(), time.thread_time()
        busy = (worked_s - self._worked_s) / max(now - self._second_began, 1e-3)
        self._second_began, self._worked_s = now, worked_s
        self._timer.setInterval(next_interval_ms(self._timer.interval(), busy))
        self._open_sound()

    def _open_sound(self) -> None:
        try:
            self._player.ensure()
            self._sound_missing = ""
        except SoundError as error:
            self._sound_missing = str(error)


def main(connection: Connection, ready: Sign) -> None:
    """Run the display until the host says goodbye or is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    application = QApplication(["nudgeline"])
    window = ClientWindow(ready)
    listener = Listener(connection.recv)
    listener.heard.connect(window.hear)
    window.begin()
    listener.start()
    keep_awake()
    application.exec()
