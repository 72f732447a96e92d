"""The rate that one step would lead to, beside the button that makes the step."""

from __future__ import annotations

from PyQt6.QtCore import QRectF, QSize, Qt
from PyQt6.QtGui import QFont, QFontMetrics, QPainter, QPaintEvent, QPen
from PyQt6.QtWidgets import QSizePolicy

from engine.reward.forecast import Forecast
from ui.monitor.memory import Memory
from ui.monitor.parts import CENTRE, Part
from ui.monitor.wording import about, inside, span_short, step_words
from ui.theme import BODY, SMALL

SIZES = ((30, 15), (58, 24), (47, 38))
"""Base width and height by the number of lines."""


LONG = 5
"""An interval of more characters, such as ``90–105``, is written smaller."""


class ForecastCell(Part):
    """A rate and its 80 % interval; boxed, and in the zone's colour, where it is in the zone.

    ``lines`` is 2 where the interval has a line of its own, 1 where it follows the rate, and 0
    where there is room for the rate alone.
    """

    def __init__(self, lines: int):
        super().__init__()
        self._lines = lines
        self.rate = self.span = ""
        self.in_zone = self.fresh = False
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def say(self, forecast: Forecast | None, zone: tuple[float, float], fresh: bool) -> None:
        """Show a forecast, dimly where it is not of the settings as they are."""
        rate = about(forecast.rate) if forecast else ""
        span = span_short(forecast) if forecast and self._lines else ""
        in_zone = forecast is not None and inside(forecast.rate, zone)
        if (rate, span, in_zone, fresh) != (self.rate, self.span, self.in_zone, self.fresh):
            self.rate, self.span, self.in_zone, self.fresh = rate, span, in_zone, fresh
            self.update()

    def _fonts(self) -> tuple[QFont, QFont]:
        wide = self._lines != 1
        size, small = ((SMALL, SMALL), (BODY - 1, SMALL - 2), (17.0, SMALL))[self._lines]
        if len(self.span) > LONG:
            small -= 2.5
        return self.look.font(size, bold=wide), self.look.font(small)

    def _widths(self) -> tuple[int, int]:
        rate, span = (QFontMetrics(font) for font in self._fonts())
        return rate.horizontalAdvance(self.rate), span.horizontalAdvance(self.span)

    def fits(self) -> bool:
        """Whether the numbers are visible whole."""
        rate, span = self._widths()
        gap = self.look.px(4) if self._lines == 1 and self.span else 0
        return (rate + gap + span if self._lines == 1 else max(rate, span)) <= self.width()

    def sizeHint(self) -> QSize:
        width, height = SIZES[self._lines]
        return QSize(self.look.px(width), self.look.px(height))

    def paintEvent(self, event: QPaintEvent | None) -> None:
        if not self.rate:
            return
        painter, look = QPainter(self), self.look
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        ink = look.colour("text" if self.fresh else "muted")
        if self.in_zone and self.fresh:
            painter.setPen(QPen(look.colour("zone"), look.px(1.2)))
            painter.setBrush(look.colour("zone_ground"))
            box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
            painter.drawRoundedRect(box, look.px(4), look.px(4))
        rate_font, span_font = self._fonts()
        painter.setPen(ink)
        if self._lines == 1:
            widths = self._widths()
            left = (self.width() - sum(widths) - look.px(4)) // 2
            places = [
                QRectF(left, 0, widths[0], self.height()),
                QRectF(left + widths[0] + look.px(4), 0, widths[1], self.height()),
            ]
        elif self._lines == 2:
            upper = 0.57 * self.height()
            places = [
                QRectF(0, 0, self.width(), upper),
                QRectF(0, 0.5 * self.height(), self.width(), 0.47 * self.height()),
            ]
        else:
            places = [QRectF(self.rect())]
        flags = int(CENTRE) | int(Qt.TextFlag.TextDontClip)
        painter.setFont(rate_font)
        painter.drawText(places[0], flags, self.rate)
        if self.span:
            painter.setPen(look.colour("text" if self.in_zone and self.fresh else "muted"))
            painter.setFont(span_font)
            painter.drawText(places[1], flags, self.span)


def show_step(cell: ForecastCell, memory: Memory, key: str, sign: int) -> str:
    """Show in ``cell`` what a step of a setting leads to; return it as a sentence, or nothing."""
    protocol = memory.hello.protocol
    found = memory.ahead.step(key, sign)
    cell.say(found.forecast if found else None, protocol.zone, memory.foreseen)
    if found is None or not memory.foreseen:
        return ""
    return step_words(key, found.value, found.forecast, protocol)
