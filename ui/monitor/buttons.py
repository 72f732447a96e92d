"""Buttons with their key printed on them, and numbers that are stepped by two of them."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtCore import QRect, QRectF, QSize, Qt
from PyQt6.QtGui import QFontMetrics, QMouseEvent, QPainter, QPaintEvent, QPen
from PyQt6.QtWidgets import QAbstractButton, QHBoxLayout, QSizePolicy, QVBoxLayout

from ui.monitor.forecast_cell import ForecastCell, show_step
from ui.monitor.memory import Memory
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
    """A number between a button for less and one for more, and what each would lead to.

    ``lines`` is how the forecasts are set (`ForecastCell`): beside the buttons, or, where there
    is no room for their intervals, below them with ``below`` in between.
    """

    def __init__(
        self,
        size: float,
        template: str,
        step: Callable[[int], object],
        chosen: Callable[[], object],
        lines: int = 2,
        below: Words | None = None,
    ):
        super().__init__()
        sign = 22.0 if size > 34 else 17.0
        self.less = Press("−", "", lambda: step(-1), sign)
        self.more = Press("+", "", lambda: step(1), sign)
        self.figure = Words(size=size, align=CENTRE, template=template, digits=True)
        self._chosen = chosen
        self._size = size
        self.foretold = (ForecastCell(lines), ForecastCell(lines))
        self._column = QVBoxLayout(self)
        self._row, self._below = QHBoxLayout(), QHBoxLayout()
        beside = below is None
        buttons = (self.less, self.figure, self.more)
        for part in (self.foretold[0], *buttons, self.foretold[1]) if beside else buttons:
            self._row.addWidget(part, 1 if part is self.figure else 0)
        self.figure.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._column.addLayout(self._row)
        if below is not None:
            for part in (self.foretold[0], below, self.foretold[1]):
                self._below.addWidget(part)
            self._column.addLayout(self._below)
        for layout in (self._column, self._row, self._below):
            layout.setContentsMargins(0, 0, 0, 0)
        for button in (self.less, self.more):
            button.setAutoRepeat(True)
            button.setAutoRepeatDelay(500)
            button.setAutoRepeatInterval(160)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def fit(self) -> None:
        for row in (self._row, self._below):
            row.setSpacing(self.look.px(4))
        self._column.setSpacing(0)
        side = self.look.px(30 if self._size > 34 else 24)
        for button in (self.less, self.more):
            button.setFixedSize(side, side)
        for cell in self.foretold:
            cell.setFixedSize(cell.sizeHint())

    def foretell(self, memory: Memory, key: str) -> None:
        """Show what a step each way leads to."""
        sides = ((-1, self.foretold[0], self.less), (1, self.foretold[1], self.more))
        for sign, cell, button in sides:
            words = show_step(cell, memory, key, sign)
            for part in (cell, button):
                part.setToolTip(words)

    def mousePressEvent(self, event: QMouseEvent | None) -> None:
        self._chosen()
