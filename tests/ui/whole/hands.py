"""A desk that works itself: real keys and clicks in the desk's own process, step by step.

The host starts `main` in place of the desk. A script is a generator; it does something to the
window and yields what has to become true before it goes on. What it waits for in vain, and any
fault of its own, is written to a file, and the desk closes.
"""

from __future__ import annotations

import os
import time
import traceback
from collections.abc import Callable, Iterator
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from PyQt6.QtCore import Qt
from PyQt6.QtTest import QTest
from PyQt6.QtWidgets import QAbstractButton, QWidget

from engine.session.asks import Ask, AskQuit
from tests.ui.whole.client import SAID
from ui.monitor import window
from ui.monitor.desk import DeskWindow
from ui.monitor.parts import Words

PATIENCE_S = 60.0
FAULT, SHOTS, SIZE = "NUDGELINE_TEST_FAULT", "NUDGELINE_TEST_SHOTS", "NUDGELINE_TEST_SIZE"
"""Where a fault is written, where pictures of every page go (if anywhere), and the desk's size."""

Until = Callable[[], object]
Script = Iterator[tuple[str, Until]]
hands: Any = QTest
Key = Qt.Key
Ctrl = Qt.KeyboardModifier.ControlModifier


class Hands:
    """Keys, clicks and pictures of one desk."""

    def __init__(self, desk: DeskWindow):
        self.desk = desk
        self._n_shots = 0

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier | None = None) -> None:
        """Press a key, wherever the keyboard is."""
        where = self.desk.focusWidget() or self.desk
        hands.keyClick(where, key, modifier or Qt.KeyboardModifier.NoModifier)

    def type(self, text: str) -> None:
        """Type into what has the keyboard."""
        hands.keyClicks(self.desk.focusWidget(), text)

    def click(self, widget: QWidget) -> None:
        """Click a widget in its middle."""
        assert widget.isVisible(), f"{widget} cannot be seen"
        assert widget.isEnabled(), f"{widget} cannot be pressed"
        hands.mouseClick(widget, Qt.MouseButton.LeftButton)

    def write(self, line: QWidget, text: str) -> None:
        """Click into a line and write over what is in it."""
        self.click(line)
        hands.keyClick(line, Key.Key_A, Ctrl)
        hands.keyClicks(line, text)

    def say(self, what: str) -> None:
        """Say something to the client."""
        Path(os.environ[SAID]).write_text(what)

    def button(self, text: str) -> QAbstractButton:
        """Find the button on the page that is shown, by its words."""
        found = [
            button
            for button in self.desk.shown.findChildren(QAbstractButton)
            if button.text() == text and button.isVisible()
        ]
        assert len(found) == 1, f"{len(found)} buttons say {text!r}"
        return found[0]

    def words(self) -> str:
        """Everything that is written on the page that is shown."""
        return "\n".join(part.text for part in self.desk.shown.findChildren(Words))

    def shot(self, name: str) -> None:
        """Keep a picture of the desk, where pictures are wanted."""
        self._n_shots += 1
        if folder := os.environ.get(SHOTS):
            size = f"{self.desk.width()}x{self.desk.height()}"
            path = Path(folder) / f"{size}-{self._n_shots:02d}-{name}.png"
            assert self.desk.grab().save(str(path))


def main(connection: Connection, ready: Any, script: Callable[[Hands], Script]) -> None:
    """Be a desk until the script is over; the session is closed with it."""

    class WorkedDesk(DeskWindow):
        def __init__(self, send: Callable[[Ask], object]):
            super().__init__(send)
            self._script = script(Hands(self))
            self._wait: tuple[str, Until] = ("the desk to open", lambda: True)
            self._since = time.monotonic()
            self._gave_up = False

        def frame(self) -> None:
            super().frame()
            if self._gave_up:
                return
            try:
                self._work()
            except Exception:
                self._give_up(traceback.format_exc())

        def _work(self) -> None:
            what, until = self._wait
            if until():
                following = next(self._script, None)
                self._wait = following or ("the end", lambda: False)
                self._since = time.monotonic()
            elif time.monotonic() - self._since > PATIENCE_S and what != "the end":
                self._give_up(f"waited {PATIENCE_S:g} s in vain for {what}")

        def _give_up(self, why: str) -> None:
            self._gave_up = True
            shown = Hands(self)
            shown.shot("fault")
            Path(os.environ[FAULT]).write_text(f"{why}\n{self.step}:\n{shown.words()}")
            self._send(AskQuit())

    vars(window)["DeskWindow"] = WorkedDesk
    width, _, height = os.environ.get(SIZE, "1366x768").partition("x")
    window.main(connection, ready, (int(width), int(height)))
