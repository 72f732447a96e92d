"""The course of the rate against its zone: the picture that the desk is built around."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PyQt6.QtCore import QLineF, QPointF, QRectF, Qt
from PyQt6.QtGui import QColor, QFontMetrics, QPainter, QPen, QPolygonF

from engine.reward.forecast import Forecast
from engine.session.messages import Status
from ui.monitor.memory import Memory
from ui.monitor.wording import change_words, clock
from ui.plots import Picture, Plane, level_line, round_above
from ui.theme import SMALL, Look

WINDOWS_S = (120.0, 240.0, 480.0)
"""The picture shows the smallest of these that holds the session so far, then the last 8 min."""
YOUNG_ENTRIES = 30
"""The first seconds of training, whose rate leaps; they do not set the height of the picture."""
AHEAD_SHARE = 0.1
"""The part of the picture to the right of now, where the forecast stands."""
PAUSE_S = 2.5
"""Neighbours in the course that lie further apart have a rest between them."""


class RateChart(Picture):
    """A step line of points a minute; flags for changes, a mark for every point."""

    def __init__(self) -> None:
        super().__init__(left=40, bottom=20, top=2, right=2)
        self._memory: Memory | None = None
        self._now_s = 0.0
        self.top = 0.0
        self._written = QRectF()
        self._course = self.curve(step=True)
        self._under = self.layer(self._draw_under, z=-10)
        self._over = self.layer(self._draw_over, z=10)

    def dress(self, look: Look) -> None:
        super().dress(look)
        self._course.setPen(pg.mkPen(look.palette.text, width=look.px(1.6)))

    def show_status(self, memory: Memory) -> None:
        """Draw the picture of this moment."""
        status = memory.status
        if status is None:
            return
        self._memory = memory
        self._now_s = now = float(np.ceil(memory.now_s))
        span = next((w for w in WINDOWS_S if now <= w), WINDOWS_S[-1])
        times, rates = course_since(status.rate_history, now - span)
        self.top = self._height_for(status, now - span)
        self.show_range(now - span, now + AHEAD_SHARE * span, 0.0, self.top)
        minute = 60.0 if span <= 240 else 120.0
        first = np.ceil(max(0.0, now - span) / minute) * minute
        marks = [(float(t), clock(t)) for t in np.arange(first, now - 0.2 * minute, minute)]
        self.show_ticks("bottom", [*marks, (now + AHEAD_SHARE * span / 2, "ahead")])
        low, high = memory.hello.protocol.zone
        numbers = [0.0, low, high] + [v for v in (2 * low, 3 * low) if high < v < 0.93 * self.top]
        self.show_ticks("left", [(v, f"{v:g}") for v in numbers])
        if times.size > 1:
            self._course.setData(times, rates, connect="finite")
        else:
            self._course.setData([], [])
        self._under.update()
        self._over.update()

    def show_ahead(self) -> None:
        """Draw what is right of now again: a line is being dragged."""
        self._over.update()

    def _height_for(self, status: Status, start_s: float) -> float:
        """Return the rate at the top: it holds the zone and all that is not young."""
        assert self._memory is not None
        grown = [rate for time_s, rate in status.rate_history[YOUNG_ENTRIES:] if time_s >= start_s]
        highest = max([*grown, *(rate for _, rate in status.rate_history[-1:])], default=0.0)
        wanted = max(1.6 * self._memory.hello.protocol.zone[1], 1.15 * highest)
        top = round_above(min(wanted, 1.12 * max(status.ceiling, highest)))
        return top if not top < status.ceiling < 1.2 * top else 1.12 * status.ceiling

    def _draw_under(self, painter: QPainter, plane: Plane) -> None:
        memory, look = self._memory, self.look
        if memory is None or memory.status is None:
            return
        low, high = memory.hello.protocol.zone
        band = QRectF(plane.left, plane.y(high), plane.right - plane.left, 0)
        band.setBottom(plane.y(low))
        painter.fillRect(band, look.colour("zone_ground"))
        for edge in (low, high):
            level_line(painter, plane, plane.y(edge), look.colour("zone"), dashes=False)
        font = look.font(SMALL)
        metrics = QFontMetrics(font)
        painter.setFont(font)
        painter.setPen(look.colour("text"))
        words = f"zone {low:g} to {high:g}"
        painter.drawText(QPointF(plane.left + look.px(8), band.bottom() - look.px(6)), words)
        ceiling = memory.status.ceiling
        text = f"ceiling {ceiling:.1f}"
        y = plane.y(ceiling)
        if ceiling <= self.top:
            level_line(painter, plane, y, look.colour("muted"), dashes=True)
        else:
            y, text = plane.top, f"{text}, above this picture"
        painter.setPen(look.colour("muted"))
        left = plane.left + look.px(8)
        painter.drawText(QPointF(left, y + metrics.ascent() + 3), text)
        self._written = QRectF(left, y, metrics.horizontalAdvance(text), metrics.height() + 3)

    def _draw_over(self, painter: QPainter, plane: Plane) -> None:
        memory = self._memory
        if memory is None or memory.status is None:
            return
        painter.setPen(QPen(self.look.colour("muted"), 1))
        oldest = plane.left
        rug = [x for x in map(plane.x, memory.points_s) if x >= oldest]
        foot = plane.bottom - self.look.px(7)
        for x in rug:
            painter.drawLine(QLineF(round(x), foot, round(x), plane.bottom))
        self._draw_flags(painter, plane, memory)
        history = memory.status.rate_history
        if history and memory.status.phase == "training":
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(self.look.colour("text"))
            radius = self.look.px(4)
            at = QPointF(plane.x(history[-1][0]), plane.y(history[-1][1]))
            painter.drawEllipse(at, radius, radius)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        self._draw_ahead(painter, plane, memory)

    def _draw_ahead(self, painter: QPainter, plane: Plane, memory: Memory) -> None:
        """Draw the forecast right of now: as things are set, or where a line is dragged to."""
        look = self.look
        now = round(plane.x(self._now_s))
        painter.setPen(QPen(look.colour("line"), 1))
        painter.drawLine(QLineF(now + 0.5, plane.top, now + 0.5, plane.bottom))
        middle = round((now + plane.right) / 2)
        dragged = memory.preview is not None
        today = memory.ahead.now if memory.foreseen else None
        if today is not None:
            ink = look.colour("muted" if dragged else "text")
            at = middle - look.px(16) if dragged else middle
            draw_whisker(painter, plane, look, at, today, ink, filled=not dragged)
        other = memory.previewed
        if other is not None:
            ink = look.colour("focus")
            y = round(plane.y(min(other.rate, self.top)))
            pen = QPen(ink, look.px(1.5))
            pen.setDashPattern([4, 3])
            painter.setPen(pen)
            painter.drawLine(QLineF(plane.left, y, middle, y))
            draw_whisker(painter, plane, look, middle + look.px(8), other, ink, filled=True)

    def _draw_flags(self, painter: QPainter, plane: Plane, memory: Memory) -> None:
        """Draw newest first; an older flag whose words have no room keeps only its pennant."""
        look = self.look
        font = look.font(SMALL)
        metrics = QFontMetrics(font)
        height, pad = metrics.height(), look.px(5)
        painter.setFont(font)
        taken = [self._written]
        for change in reversed(memory.changes):
            x = round(plane.x(change.time_s))
            if x < plane.left:
                break
            text = change_words(change.key, change.old, change.new, memory.hello.protocol)
            width = metrics.horizontalAdvance(text) + 2 * pad
            places = [
                QRectF(left, plane.top + row * (height + 2), width, height)
                for row in (0, 1)
                for left in (x, x - width)
                if left >= plane.left and left + width <= plane.right
            ]
            free = [p for p in places if not any(p.intersects(other) for other in taken)]
            plate = free[0] if free else QRectF(x, plane.top + 2 * (height + 2), pad, pad)
            painter.setPen(QPen(look.colour("muted"), 1, Qt.PenStyle.DotLine))
            painter.drawLine(QLineF(x, plate.top(), x, plane.bottom))
            painter.fillRect(plate, look.colour("raised" if free else "muted"))
            if free:
                taken.append(plate.adjusted(-pad, 0, pad, 0))
                painter.setPen(look.colour("text"))
                painter.drawText(plate, int(Qt.AlignmentFlag.AlignCenter), text)


def draw_whisker(
    painter: QPainter,
    plane: Plane,
    look: Look,
    x: float,
    forecast: Forecast,
    ink: QColor,
    filled: bool,
) -> None:
    """Draw a forecast: its interval as a line with ends, its rate as a diamond."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    wing, half = look.px(5), look.px(6)
    painter.setPen(QPen(ink, look.px(2)))
    low, high = (
        min(max(plane.y(v), plane.top + 1), plane.bottom - 1) for v in (forecast.low, forecast.high)
    )
    painter.drawLine(QLineF(x, low, x, high))
    for y in (low, high):
        painter.drawLine(QLineF(x - wing, y, x + wing, y))
    y = min(max(plane.y(forecast.rate), plane.top + half), plane.bottom - half)
    painter.setBrush(ink if filled else look.colour("panel"))
    painter.drawPolygon(
        QPolygonF(
            [QPointF(x, y - half), QPointF(x + half, y), QPointF(x, y + half), QPointF(x - half, y)]
        )
    )
    painter.restore()


def course_since(
    history: tuple[tuple[float, float], ...], start_s: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return times and rates from ``start_s`` on, with a hole (NaN) at every rest."""
    first = len(history)
    while first and history[first - 1][0] >= start_s:
        first -= 1
    part = np.array(history[first:], dtype=float).reshape(-1, 2)
    times, rates = part[:, 0], part[:, 1]
    rests = np.flatnonzero(np.diff(times) > PAUSE_S)
    return (
        np.insert(times, rests + 1, times[rests] + 1.0),
        np.insert(rates, rests + 1, np.nan),
    )
