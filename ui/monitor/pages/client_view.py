"""The look back that is turned to the client: plain sentences, one picture, no numbers to chase.

The picture has a column a minute of training with a disc for every point in it, and above it a
line that shows how strong the wanted rhythm was: higher is stronger, and nothing else is said.
"""

from __future__ import annotations

import math

from PyQt6.QtCore import QPointF, QRectF, Qt
from PyQt6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PyQt6.QtWidgets import QSizePolicy, QVBoxLayout

from engine.lookback.review import Review
from ui.monitor.pages.form import Said
from ui.monitor.parts import LEFT, Part, Words
from ui.theme import LARGE

GAP = 0.6
"""A rest between rounds, in columns."""


class ClientPicture(Part):
    """Minutes of training from left to right."""

    def __init__(self) -> None:
        super().__init__()
        self._minutes: tuple[tuple[float, int], ...] = ()
        self._rounds: tuple[int, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def show_review(self, seen: Review) -> None:
        """Show the minutes of a session: how strong the first wanted band was, and the points."""
        wanted = next(
            (i for i, c in enumerate(seen.course.conditions) if c.direction == "above"), None
        )
        self._minutes = tuple(
            (math.nan if wanted is None else piece.mean_uv[wanted], piece.points)
            for piece in seen.minutes
        )
        names = [piece.name.partition(",")[0] for piece in seen.minutes]
        self._rounds = tuple(i for i, name in enumerate(names) if names.index(name) == i)
        self.update()

    def paintEvent(self, event: QPaintEvent | None) -> None:
        painter, look = QPainter(self), self.look
        painter.fillRect(self.rect(), look.colour("panel"))
        if not self._minutes:
            return
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        pad = look.px(18)
        wide = (self.width() - 2 * pad) / (len(self._minutes) + GAP * (len(self._rounds) - 1))
        half = (self.height() - 3 * pad) / 2
        painter.setFont(look.font(LARGE - 3))
        painter.setPen(look.colour("muted"))
        head = look.px(24)
        words = "how strong: higher is stronger"
        painter.drawText(QRectF(pad, pad / 3, self.width(), head), int(LEFT), words)
        painter.drawText(
            QRectF(pad, pad + half, self.width(), head), int(LEFT), "your points, minute by minute"
        )
        centres = []
        for i in range(len(self._minutes)):
            rests = sum(first <= i for first in self._rounds) - 1
            centres.append(pad + (i + GAP * rests + 0.5) * wide)
        self._paint_strength(painter, centres, pad + head, half - head)
        self._paint_points(painter, centres, wide, self.height() - pad, half - head)

    def _paint_strength(
        self, painter: QPainter, centres: list[float], top: float, tall: float
    ) -> None:
        look = self.look
        known = [(x, v) for x, (v, _) in zip(centres, self._minutes, strict=True) if v == v]
        if not known:
            return
        values = [v for _, v in known]
        middle = sum(values) / len(values)
        # A quarter of the mean fills the height at least, so that a trifle does not look like much.
        reach = max(0.125 * middle, max(abs(v - middle) for v in values)) or 1.0
        dots = [QPointF(x, top + tall / 2 * (1 - 0.85 * (v - middle) / reach)) for x, v in known]
        painter.setPen(QPen(look.colour("reward"), look.px(4)))
        starts = {centres[i] for i in self._rounds}
        line: list[QPointF] = []
        for dot in [*dots, None]:
            if dot is None or dot.x() in starts:
                painter.drawPolyline(QPolygonF(line))
                line = []
            if dot is not None:
                line.append(dot)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.colour("reward"))
        for dot in dots:
            painter.drawEllipse(dot, look.px(7), look.px(7))

    def _paint_points(
        self, painter: QPainter, centres: list[float], wide: float, floor: float, tall: float
    ) -> None:
        look = self.look
        most = max((points for _, points in self._minutes), default=0)
        step = min(look.px(22), wide, tall / max(1, most))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.colour("zone"))
        radius = max(1.0, 0.42 * min(step, wide))
        for x, (_, points) in zip(centres, self._minutes, strict=True):
            for n in range(points):
                painter.drawEllipse(QPointF(x, floor - (n + 0.5) * step), radius, radius)
        painter.setPen(QPen(look.colour("line"), 2))
        for x in centres:
            painter.drawLine(QPointF(x - wide / 2, floor), QPointF(x + wide / 2, floor))


class ClientView(Part):
    """Sentences above the picture."""

    def __init__(self) -> None:
        super().__init__()
        self.title = Words("Your session", LARGE + 6, bold=True)
        self.sentences = Said(size=LARGE)
        self.picture = ClientPicture()
        self._column = QVBoxLayout(self)
        for part in (self.title, self.sentences):
            self._column.addWidget(part)
        self._column.addWidget(self.picture, 1)

    def fit(self) -> None:
        px = self.look.px
        self._column.setContentsMargins(px(8), px(4), px(8), px(4))
        self._column.setSpacing(px(8))

    def show_review(self, seen: Review, said: tuple[str, ...]) -> None:
        """Show a session and what is said of it."""
        self.sentences.say(*said)
        self.picture.show_review(seen)
