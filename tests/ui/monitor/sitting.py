"""A desk, a fake host behind it, and hands at keys and mouse: what the tests of the desk share."""

from __future__ import annotations

from typing import Any, TypeVar

from PyQt6.QtCore import QPoint, Qt
from PyQt6.QtTest import QTest
from PyQt6.QtWidgets import QAbstractButton, QWidget
from pytestqt.qtbot import QtBot

from engine.events import Reason
from engine.protocol import Condition
from engine.session.asks import Ask, AskRound
from engine.session.foresight import Foresight
from tests.ui.monitor.fake_host import THREE, FakeHost
from ui.monitor.desk import DeskWindow
from ui.monitor.page import DeskPage

A = TypeVar("A")
hands: Any = QTest
"""Keys and mouse; their types are written as methods, which they are not."""
Key = Qt.Key
Ctrl = Qt.KeyboardModifier.ControlModifier
NoModifier = Qt.KeyboardModifier.NoModifier


class Sitting:
    """One session at the desk; time passes only by `pass_time`."""

    def __init__(
        self,
        qtbot: QtBot,
        size: tuple[int, int] = (1366, 768),
        conditions: tuple[Condition, ...] = THREE,
        greet: bool = True,
    ):
        self.host = FakeHost(conditions=conditions)
        self.asks: list[Ask] = []
        self.window = DeskWindow(self._hear)
        qtbot.addWidget(self.window, before_close_func=_let_close)
        self.window.resize(*size)
        self.window.show()
        qtbot.waitExposed(self.window)
        if greet:
            self.window.receive(self.host.hello())
            self.pass_time(1.0)

    def _hear(self, ask: Ask) -> None:
        self.asks.append(ask)
        self.host.ask(ask)

    @property
    def page(self) -> DeskPage:
        assert self.window.page is not None
        return self.window.page

    def train(self, seconds: float = 1.0) -> None:
        """Let a round run."""
        self.host.ask(AskRound("start"))
        self.pass_time(seconds)

    def hide(self, *reasons: Reason) -> None:
        """Hide the signal, and let the desk hear of it."""
        self.host.hide(0.5, *reasons)
        self.pass_time(0.3)

    def pass_time(self, seconds: float) -> None:
        """Let the host speak and the desk draw."""
        for message in self.host.advance(seconds):
            self.window.receive(message)  # type: ignore[arg-type]
        self.draw()

    def foresee(self) -> Foresight:
        """Let the host send a forecast, and the desk draw it."""
        foresight = self.host.foresight()
        self.window.receive(foresight)
        self.draw()
        return foresight

    def draw(self) -> None:
        """Draw everything that is due within a second of frames."""
        if self.window.page is not None:
            self.window.page.show_all()
        hands.qWait(0)

    def press(self, key: Key, modifier: Qt.KeyboardModifier = NoModifier) -> None:
        """Press a key, wherever the keyboard is."""
        hands.keyClick(self.window.focusWidget() or self.window, key, modifier)

    def click(self, button: QAbstractButton) -> None:
        """Click a button in its middle."""
        hands.mouseClick(button, Qt.MouseButton.LeftButton)

    def asked(self, kind: type[A]) -> list[A]:
        """What was asked of one kind."""
        return [ask for ask in self.asks if isinstance(ask, kind)]


def middle(widget: QWidget) -> QPoint:
    """The middle of a widget."""
    return widget.rect().center()


def _let_close(window: QWidget) -> None:
    """Let the window of a finished test close without asking."""
    assert isinstance(window, DeskWindow)
    window.over = True
