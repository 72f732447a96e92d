"""Words on a scene: the message, the number of points and a small sign, at any size."""

from __future__ import annotations

from dataclasses import dataclass

from PyQt6.QtCore import QPointF
from PyQt6.QtGui import QColor, QFont, QFontMetricsF, QPainter

from ui.client.easing import soft
from ui.client.moment import Moment
from ui.client.words import PROMPT_WORDS

MESSAGE, PROMPT = 0.036, 0.046
"""Size of a message, and of what the client is asked for, as shares of the height."""

Colour = tuple[int, int, int, int]
"""Red, green, blue, opacity, 0-255."""


@dataclass(frozen=True)
class Lettering:
    """How a scene writes: families by preference, colours, and whether points have digits."""

    families: tuple[str, ...]
    hint: QFont.StyleHint
    message: tuple[int, int, int]
    count: Colour
    sign: Colour
    middle: float = 0.925
    """Where the message stands, as a share of the height."""
    digits: bool = True

    def draw(self, painter: QPainter, width: int, height: int, view: Moment) -> None:
        """Write what ``view`` says into a picture of ``width`` by ``height`` pixels."""
        small = self._font(max(0.021 * height, 9.0))
        foot = height - max(0.022 * height, 3.0)
        side = max(0.016 * width, 4.0)
        painter.setFont(small)
        if self.digits and view.count:
            wide = QFontMetricsF(small).horizontalAdvance(view.count)
            painter.setPen(QColor(*self.count))
            painter.drawText(QPointF(width - wide - side, foot), view.count)
        if view.sign:
            painter.setPen(QColor(*self.sign))
            painter.drawText(QPointF(side, foot), view.sign)
        if view.words and view.words_strength > 0:
            self._draw_message(painter, width, height, view)

    def _draw_message(self, painter: QPainter, width: int, height: int, view: Moment) -> None:
        tall = PROMPT if view.words in PROMPT_WORDS.values() else MESSAGE
        font = self._font(max(tall * height, 10.0), spaced=True)
        measure = QFontMetricsF(font)
        wide = measure.horizontalAdvance(view.words)
        painter.setFont(font)
        painter.setPen(QColor(*self.message, round(255 * soft(view.words_strength))))
        base = height * self.middle + (measure.ascent() - measure.descent()) / 2
        painter.drawText(QPointF((width - wide) / 2, base), view.words)

    def _font(self, pixels: float, spaced: bool = False) -> QFont:
        font = QFont()
        font.setFamilies(self.families)
        font.setStyleHint(self.hint)
        font.setPixelSize(round(pixels))
        if spaced:
            font.setLetterSpacing(QFont.SpacingType.PercentageSpacing, 106)
        return font
