"""The paper boat on the water."""

from __future__ import annotations

import math

from PyQt6.QtCore import QPointF, Qt
from PyQt6.QtGui import QColor, QPainter, QPolygonF

from ui.client.bowl.glass import X, Y, water_line
from ui.client.stage import Stage

SIZE = 0.62
"""Half its length in units of the stage."""
PAPER, FOLD, SAIL, FLAG = (250, 242, 226), (220, 206, 186), (238, 226, 206), (220, 140, 96)


def draw_boat(painter: QPainter, stage: Stage, level: float, time_s: float) -> None:
    """Draw the boat where the water of ``level`` carries it, rocking a little."""
    rock = 1.6 * math.sin(0.9 * time_s)
    up = water_line(level) + 0.012 * math.sin(1.3 * time_s)
    painter.save()
    painter.translate(stage.at(X + 0.05 * math.sin(0.35 * time_s), Y - up + 0.03))
    painter.rotate(rock)
    painter.scale(SIZE * stage.unit, SIZE * stage.unit)
    painter.setPen(Qt.PenStyle.NoPen)
    for colour, corners in (
        (SAIL, ((-0.42, -0.34), (0.0, -1.02), (0.0, -0.30))),
        (FOLD, ((0.42, -0.34), (0.0, -1.02), (0.0, -0.30))),
        (PAPER, ((-1.0, -0.42), (-0.28, -0.26), (0.0, 0.14), (-0.56, 0.12))),
        (FOLD, ((1.0, -0.42), (0.28, -0.26), (0.0, 0.14), (0.56, 0.12))),
        (PAPER, ((-0.30, -0.28), (0.30, -0.28), (0.56, 0.12), (-0.56, 0.12))),
        (FLAG, ((0.0, -1.02), (0.0, -1.24), (0.30, -1.13))),
    ):
        painter.setBrush(QColor(*colour))
        painter.drawPolygon(QPolygonF([QPointF(x, y) for x, y in corners]))
    painter.restore()
