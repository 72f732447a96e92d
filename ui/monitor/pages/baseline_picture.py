"""Amplitudes at rest as a picture: a row a condition, before and after, and the threshold.

A bar spans the mean and one standard deviation to each side: before training with a disc on the
mean, after it with a diamond below. The threshold to be trained with is an upright line that
bears its number, with an arrow to the side on which the condition is met.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from PyQt6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PyQt6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPen, QPolygonF
from PyQt6.QtWidgets import QSizePolicy

from engine.protocol import Condition
from ui.monitor.parts import CENTRE, LEFT, Part
from ui.monitor.wording import amount
from ui.theme import BODY, SMALL

NAMES, AXIS = 130, 34
LEAST, MOST = 44, 84
"""Base pixels: names at the left, numbers below, the height of a row."""

NOT_YET = "After the baseline its amplitudes are drawn here, with the thresholds among them."

Spread = tuple[float, float]
"""Mean and standard deviation, microvolts."""


@dataclass(frozen=True)
class PictureRow:
    """What is known of one condition."""

    condition: Condition
    before: Spread | None = None
    after: Spread | None = None
    threshold_uv: float | None = None


class BaselinePicture(Part):
    """`show_rows` draws it; rows that find no room leave the picture empty."""

    def __init__(self) -> None:
        super().__init__()
        self._rows: tuple[PictureRow, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def show_rows(self, rows: tuple[PictureRow, ...]) -> None:
        """Show these conditions."""
        if rows != self._rows:
            self._rows = rows
            self.update()

    def minimumSizeHint(self) -> QSize:
        return QSize(self.look.px(300), 0)

    @property
    def row_height(self) -> float:
        """Height of a row in pixels; 0 where the picture has no room."""
        room = self.height() - self.look.px(AXIS)
        tall = min(room / max(1, len(self._rows)), self.look.px(MOST))
        return tall if tall >= self.look.px(LEAST) else 0.0

    @property
    def _top_uv(self) -> float:
        """The end of the scale: a round number above everything that is shown."""
        ends = [mean + sd for row in self._rows for mean, sd in _spreads(row)]
        ends += [row.threshold_uv for row in self._rows if row.threshold_uv is not None]
        highest = 1.08 * max(ends, default=1.0)
        step = next(s for s in (0.5, 1, 2, 5, 10, 20, 50, 100, 1000) if highest / s <= 10)
        return step * -(-highest // step)

    def paintEvent(self, event: QPaintEvent | None) -> None:
        if not self.row_height:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if not any(_spreads(row) for row in self._rows):
            painter.setFont(self.look.font(BODY))
            painter.setPen(self.look.colour("muted"))
            painter.drawText(self.rect(), int(CENTRE), NOT_YET)
            return
        self._paint_scale(painter)
        for i, row in enumerate(self._rows):
            self._paint_row(painter, row, i * self.row_height)

    def _x(self, uv: float) -> float:
        left, right = self.look.px(NAMES), self.width() - self.look.px(24)
        return left + (right - left) * uv / self._top_uv

    def _paint_scale(self, painter: QPainter) -> None:
        look, low = self.look, self.row_height * len(self._rows)
        painter.setFont(look.font(SMALL))
        top = self._top_uv
        step = next(s for s in (0.5, 1, 2, 5, 10, 20, 50, 100, 1000) if top / s <= 10)
        for n in range(round(top / step) + 1):
            x = self._x(n * step)
            painter.setPen(QPen(look.colour("line"), 1))
            painter.drawLine(QLineF(x, 0, x, low))
            painter.setPen(look.colour("muted"))
            words = f"{n * step:g}" + (" µV" if n == 0 else "")
            box = QRectF(x - 30, low + 1, 60, look.px(17))
            painter.drawText(box, int(CENTRE), words)
        legend = "disc: before    diamond: after    bar: one standard deviation    line: threshold"
        painter.drawText(
            QRectF(look.px(NAMES), low + look.px(17), self.width(), look.px(17)), int(LEFT), legend
        )

    def _paint_row(self, painter: QPainter, row: PictureRow, top: float) -> None:
        look, tall = self.look, self.row_height
        ink = look.colour("reward" if row.condition.direction == "above" else "inhibit")
        painter.setPen(look.colour("text"))
        painter.setFont(look.font(BODY))
        painter.drawText(QRectF(0, top, look.px(NAMES - 8), tall), int(LEFT), row.condition.label)
        for spread, at, after in ((row.before, 0.42, False), (row.after, 0.74, True)):
            if spread is None or not isfinite(spread[0]):
                continue
            mean, sd = spread
            y = top + at * tall
            painter.setPen(QPen(ink, look.px(3)))
            painter.drawLine(QLineF(self._x(max(0.0, mean - sd)), y, self._x(mean + sd), y))
            painter.setPen(QPen(look.colour("text"), 1))
            painter.setBrush(ink)
            _dot(painter, QPointF(self._x(mean), y), look.px(6), after)
        if row.threshold_uv is not None:
            self._paint_threshold(painter, row, row.threshold_uv, top)

    def _paint_threshold(
        self, painter: QPainter, row: PictureRow, threshold_uv: float, top: float
    ) -> None:
        look, tall, x = self.look, self.row_height, self._x(threshold_uv)
        painter.setPen(QPen(look.colour("text"), 2))
        painter.drawLine(QLineF(x, top + 0.2 * tall, x, top + 0.94 * tall))
        towards = 1 if row.condition.direction == "above" else -1
        tip, y = x + towards * look.px(9), top + 0.2 * tall
        painter.setBrush(look.colour("text"))
        painter.drawPolygon(
            QPolygonF([QPointF(x, y - look.px(4)), QPointF(tip, y), QPointF(x, y + look.px(4))])
        )
        painter.setFont(look.font(SMALL, bold=True))
        words = amount(threshold_uv)
        wide = QFontMetrics(painter.font()).horizontalAdvance(words)
        left = x + look.px(5) if towards < 0 else x - wide - look.px(5)
        box = QRectF(left, top + 0.02 * tall, wide + 2, look.px(16))
        painter.fillRect(box, look.colour("panel"))
        painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), words)


def _spreads(row: PictureRow) -> list[Spread]:
    return [s for s in (row.before, row.after) if s is not None and isfinite(s[0])]


def _dot(painter: QPainter, at: QPointF, radius: float, diamond: bool) -> None:
    if not diamond:
        painter.drawEllipse(at, radius, radius)
        return
    ends = (QPointF(0, -1.25), QPointF(1.25, 0), QPointF(0, 1.25), QPointF(-1.25, 0))
    painter.drawPolygon(QPolygonF([at + end * radius for end in ends]))
