"""Buttons with their key printed on them, and numbers that are stepped by two of them."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtCore import QRect, QRectF, QSize, Qt
from PyQt6.QtGui import QFontMetrics, QMouseEvent, QPainter, QPaintEvent, QPen
from PyQt6.QtWidgets import QAbstractButton, QHBoxLayout, QSizePolicy

from ui.monitor.parts import CENTRE, LEFT, Part, Words, cap_width, draw_cap
from ui.theme import BODY, DARK, Look


class Press(QAbstractButton):
    """A button with its key printed on it. It never takes the keyboard: keys go to the desk.

    ``faint`` is the colour of its words while it cannot be pressed.
    """

    def __init__(self, text: str, cap: str, press: Callable[[], object], size: float = BODY):
        super().__init__()
        self.look = Look(DARK, 1.0)
        self._cap, self._size, self._strong = cap, size, ""
        self.faint = "muted"
        self.setText(text)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.clicked.connect(lambda: press())

    def dress(self, look: Look) -> None:
        """Take on a look."""
        self.look = look
        self.updateGeometry()
        self.update()

    def say(self, text: str, strong: str = "") -> None:
        """Show other words; ``strong`` names a colour to fill the button with."""
        if (text, strong) != (self.text(), self._strong):
            self._strong = strong
            self.setText(text)
            self.update()

    def _needed(self) -> int:
        words = QFontMetrics(self.look.font(self._size)).horizontalAdvance(self.text())
        cap = cap_width(self.look, self._cap) + self.look.px(6) if self._cap else 0
        return words + cap

    def fits(self) -> bool:
        """Whether words and key cap have room."""
        return self._needed() + self.look.px(6) <= self.width()

    def sizeHint(self) -> QSize:
        metrics = QFontMetrics(self.look.font(self._size))
        return QSize(self._needed() + self.look.px(16), metrics.height() + self.look.px(8))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._needed() + self.look.px(8), self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent | None) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look, strong = self.look, self._strong if self.isEnabled() else ""
        fill = look.colour(strong or "raised")
        if self.isDown():
            fill = look.colour("focus")
        pressed_or_strong = bool(strong) or self.isDown()
        ink = look.colour("on_strong" if pressed_or_strong else "text")
        quiet = look.colour("on_strong" if pressed_or_strong else "muted")
        painter.setPen(QPen(look.colour("muted"), 1) if self.underMouse() else Qt.PenStyle.NoPen)
        painter.setBrush(fill if self.isEnabled() else Qt.BrushStyle.NoBrush)
        box = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.drawRoundedRect(box, look.px(5), look.px(5))
        if not self.isEnabled():
            ink = quiet = look.colour(self.faint)
        font = look.font(self._size)
        width = self._needed()
        left = (self.width() - width) // 2
        painter.setFont(font)
        painter.setPen(ink)
        painter.drawText(QRect(left, 0, width, self.height()), int(LEFT), self.text())
        if self._cap:
            draw_cap(painter, look, self._cap, left + width, self.height() // 2, quiet)


class Stepper(Part):
    """A number between a button for less and one for more."""

    def __init__(
        self,
        size: float,
        template: str,
        step: Callable[[int], object],
        chosen: Callable[[], object],
    ):
        super().__init__()
        sign = 22.0 if size > 30 else 17.0
        self.less = Press("−", "", lambda: step(-1), sign)
        self.more = Press("+", "", lambda: step(1), sign)
        self.figure = Words(size=size, align=CENTRE, template=template, digits=True)
        self._chosen = chosen
        self._size = size
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for part in (self.less, self.figure, self.more):
            row.addWidget(part)
        for button in (self.less, self.more):
            button.setAutoRepeat(True)
            button.setAutoRepeatDelay(500)
            button.setAutoRepeatInterval(160)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def fit(self) -> None:
        layout = self.layout()
        assert layout is not None
        layout.setSpacing(self.look.px(4))
        side = self.look.px(30 if self._size > 30 else 24)
        for button in (self.less, self.more):
            button.setFixedSize(side, side)

    def mousePressEvent(self, event: QMouseEvent | None) -> None:
        self._chosen()
