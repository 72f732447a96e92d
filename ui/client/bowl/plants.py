"""Water plants that grow a little with every point."""

from __future__ import annotations

import math

from PyQt6.QtCore import QPointF, Qt
from PyQt6.QtGui import QColor, QPainter, QPainterPath

from ui.client.bowl.glass import FLOOR, X, Y, half_width
from ui.client.stage import Stage

GROWN = 240
"""Points at which every plant has its full height."""
PLANTS = (
    # x from the middle, height, lean, colour
    (-1.55, 2.10, -0.30, (84, 132, 104)),
    (-1.25, 1.50, 0.16, (108, 150, 112)),
    (1.35, 1.90, 0.26, (92, 140, 106)),
    (1.70, 1.35, 0.30, (116, 156, 116)),
    (0.35, 1.05, -0.16, (100, 146, 118)),
)
LEAST = 0.30
"""Share of its height that a plant has before the first point."""


def draw_plants(painter: QPainter, stage: Stage, points: int) -> None:
    """Draw the plants as high as ``points`` have let them grow."""
    grown = LEAST + (1 - LEAST) * math.sqrt(min(points / GROWN, 1.0))
    painter.setPen(Qt.PenStyle.NoPen)
    for x, tall, lean, colour in PLANTS:
        foot = _floor_below(x)
        painter.setBrush(QColor(*colour, 235))
        _draw_plant(painter, stage, X + x, Y + foot, tall * grown, lean * grown)


def _floor_below(x: float) -> float:
    """Return how far below the middle the glass lies at ``x``."""
    return min(FLOOR, half_width(x)) - 0.02


def _draw_plant(
    painter: QPainter, stage: Stage, x: float, foot: float, tall: float, lean: float
) -> None:
    n_leaves = max(3, round(tall / 0.21))
    for number in range(n_leaves):
        share = (number + 0.5) / n_leaves
        side = -1 if number % 2 else 1
        middle = stage.at(x + lean * share * share, foot - tall * share)
        long = (0.40 - 0.22 * share) * stage.unit
        leaf = QPainterPath(QPointF(0, 0))
        leaf.cubicTo(
            side * 0.3 * long,
            -0.75 * long,
            side * 0.9 * long,
            -0.85 * long,
            side * long,
            -0.9 * long,
        )
        leaf.cubicTo(side * 0.9 * long, -0.35 * long, side * 0.4 * long, 0.02 * long, 0, 0)
        painter.save()
        painter.translate(middle)
        painter.drawPath(leaf)
        painter.restore()
    stem = QPainterPath(stage.at(x - 0.035, foot))
    stem.quadTo(stage.at(x - 0.03 + 0.1 * lean, foot - tall * 0.5), stage.at(x + lean, foot - tall))
    stem.quadTo(stage.at(x + 0.03 + 0.1 * lean, foot - tall * 0.5), stage.at(x + 0.035, foot))
    painter.drawPath(stem)
