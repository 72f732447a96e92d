"""The small things that the desk is set from: words and key caps.

Each draws itself from a `Look`, keeps its size whatever it shows, and repaints only when what
it shows has changed: a number that ticks moves nothing around it.
"""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from PyQt6.QtCore import QRectF, QSize, Qt
from PyQt6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPaintEvent, QPen
from PyQt6.QtWidgets import QSizePolicy, QWidget

from ui.theme import BODY, DARK, SMALL, Look

LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
CENTRE = Qt.AlignmentFlag.AlignCenter


@runtime_checkable
class Dressed(Protocol):
    """Anything that takes on a look."""

    def dress(self, look: Look) -> None: ...


class Part(QWidget):
    """A widget that knows its look; `dress` is called when the theme or the scale changes."""

    def __init__(self) -> None:
        super().__init__()
        self.look = Look(DARK, 1.0)

    def dress(self, look: Look) -> None:
        """Take on a look: this part, and every part inside it."""
        self.look = look
        for child in self.children():
            if isinstance(child, Dressed):
                child.dress(look)
        self.fit()
        self.updateGeometry()
        self.update()

    def fit(self) -> None:
        """Set what depends on the look: margins, fonts, fixed sizes."""


class Words(Part):
    """One line of text of one size and colour; ``template`` keeps its width.

    ``digits`` leaves no room below the line: for numbers, which have nothing there.
    """

    def __init__(
        self,
        text: str = "",
        size: float = BODY,
        ink: str = "text",
        bold: bool = False,
        align: Qt.AlignmentFlag = LEFT,
        template: str = "",
        digits: bool = False,
    ):
        super().__init__()
        self._text, self._size, self._ink, self._bold = text, size, ink, bold
        self._digits = digits
        self._align, self._template = align, template
        grow = QSizePolicy.Policy.Fixed if template else QSizePolicy.Policy.Expanding
        self.setSizePolicy(grow, QSizePolicy.Policy.Fixed)

    @property
    def text(self) -> str:
        return self._text

    @property
    def ink(self) -> str:
        """The colour of the text, by its name in the palette."""
        return self._ink

    @property
    def place(self) -> Qt.AlignmentFlag:
        """How a column should place it: at its side, or filling the width."""
        return self._align if self._template else Qt.AlignmentFlag(0)

    def say(self, text: str, ink: str | None = None) -> None:
        """Show ``text``, in another colour if one is named."""
        ink = ink or self._ink
        if (text, ink) != (self._text, self._ink):
            self._text, self._ink = text, ink
            self.setToolTip("" if self.fits() else text)
            self.update()

    def text_font(self) -> QFont:
        """The font that the text is set in."""
        return self.look.font(self._size, self._bold)

    def fits(self) -> bool:
        """Whether the whole text is visible."""
        metrics = QFontMetrics(self.text_font())
        return metrics.horizontalAdvance(self._text) <= self.width()

    def sizeHint(self) -> QSize:
        metrics = QFontMetrics(self.text_font())
        height = round(1.2 * metrics.capHeight()) if self._digits else metrics.height()
        width = metrics.horizontalAdvance(self._template) + 2 if self._template else 8
        return QSize(width, height)

    def minimumSizeHint(self) -> QSize:
        hint = self.sizeHint()
        return hint if self._template else QSize(0, hint.height())

    def paintEvent(self, event: QPaintEvent | None) -> None:
        painter = QPainter(self)
        font = self.text_font()
        painter.setFont(font)
        painter.setPen(self.look.colour(self._ink))
        metrics = QFontMetrics(font)
        text = metrics.elidedText(self._text, Qt.TextElideMode.ElideRight, self.width())
        spare = self.width() - metrics.horizontalAdvance(text)
        left = spare if self._align == RIGHT else spare // 2 if self._align == CENTRE else 0
        above = metrics.capHeight() if self._digits else metrics.ascent() - metrics.descent()
        painter.drawText(left, (self.height() + above) // 2, text)


def draw_cap(painter: QPainter, look: Look, cap: str, right: int, middle: int, ink: QColor) -> int:
    """Draw a key cap that ends at ``right``; return its left edge."""
    font = look.font(SMALL - 1)
    metrics = QFontMetrics(font)
    height = metrics.height() + look.px(2)
    width = max(height, metrics.horizontalAdvance(cap) + look.px(8))
    box = QRectF(right - width + 0.5, middle - height / 2 + 0.5, width - 1, height - 1)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(ink, 1))
    painter.drawRoundedRect(box, look.px(3), look.px(3))
    painter.setFont(font)
    painter.drawText(box, int(CENTRE), cap)
    return right - width


def cap_width(look: Look, cap: str) -> int:
    """Return the width that `draw_cap` takes."""
    metrics = QFontMetrics(look.font(SMALL - 1))
    return max(metrics.height() + look.px(2), metrics.horizontalAdvance(cap) + look.px(8))


class Cap(Part):
    """A key cap beside what the key chooses."""

    def __init__(self, cap: str):
        super().__init__()
        self._cap = cap
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        metrics = QFontMetrics(self.look.font(SMALL - 1))
        return QSize(cap_width(self.look, self._cap) + 1, metrics.height() + self.look.px(2) + 1)

    def paintEvent(self, event: QPaintEvent | None) -> None:
        ink = self.look.colour("muted")
        draw_cap(QPainter(self), self.look, self._cap, self.width(), self.height() // 2, ink)
