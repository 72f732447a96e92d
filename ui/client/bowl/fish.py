"""The fish: round, slow, and each at home in one place of the bowl."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PyQt6.QtCore import QPointF, QRectF, Qt
from PyQt6.QtGui import QColor, QImage, QPainter, QPainterPath, QPen

from ui.client.bowl.glass import X, Y
from ui.client.easing import soft
from ui.client.moment import Moment
from ui.client.pictures import clear_image
from ui.client.stage import Stage

EVERY = 10
"""So many points bring one more fish."""
INK = (52, 40, 44)
BOX = QRectF(-1.35, -0.95, 2.70, 1.80)
"""What a fish takes up, in half lengths from its middle; alike to both sides."""
WAGS = 5
"""Steps of the tail to either side."""


@dataclass(frozen=True)
class Fish:
    """Home (units from the bowl's middle, y down), half length, which way it looks, its dress."""

    x: float
    y: float
    size: float
    looks: int
    body: tuple[int, int, int]
    fin: tuple[int, int, int]
    dress: str


HONEY, ROSE, MINT, SKY, CREAM, LILAC = (
    ((238, 186, 98), (222, 150, 74)),
    ((226, 148, 128), (200, 112, 98)),
    ((146, 196, 162), (104, 160, 134)),
    ((154, 180, 216), (112, 140, 188)),
    ((240, 222, 186), (214, 184, 138)),
    ((200, 164, 200), (164, 124, 170)),
)
FISH = (
    Fish(-0.75, 0.12, 0.46, 1, *HONEY, "spots"),
    Fish(1.05, 0.42, 0.36, -1, *MINT, "plain"),
    Fish(-1.75, 0.52, 0.30, 1, *ROSE, "belly"),
    Fish(0.25, 0.62, 0.32, 1, *SKY, "spots"),
    Fish(1.90, 0.02, 0.30, -1, *CREAM, "belly"),
    Fish(-0.70, 0.66, 0.24, -1, *LILAC, "plain"),
    Fish(0.55, -0.04, 0.26, -1, *ROSE, "spots"),
    Fish(-2.10, -0.02, 0.25, 1, *MINT, "spots"),
    Fish(2.05, 0.56, 0.24, -1, *HONEY, "plain"),
    Fish(1.42, 0.74, 0.19, -1, *LILAC, "belly"),
    Fish(-1.25, 0.74, 0.19, 1, *SKY, "plain"),
    Fish(-1.20, 0.40, 0.19, 1, *CREAM, "spots"),
)


def fish_there(lit: int, kindling: tuple[float, ...]) -> list[tuple[Fish, float]]:
    """Return the fish that the beads have brought, each with its share (0-1) of being there.

    The first is there from the beginning; each other comes as its tenth bead sinks.
    """
    shown = []
    for number, fish in enumerate(FISH):
        missing = EVERY * number - lit
        if missing <= 0:
            shown.append((fish, 1.0))
        elif missing <= len(kindling):
            shown.append((fish, kindling[missing - 1]))
    return shown


class Shoal:
    """The fish at one size, each drawn once in every pose it takes and kept as an image."""

    def __init__(self, stage: Stage) -> None:
        self._stage = stage
        self._poses: dict[tuple[Fish, int, bool], QImage] = {}

    def draw(self, painter: QPainter, view: Moment) -> None:
        """Draw each fish near its home; one that still comes does so from behind it."""
        asleep = view.night > 0.5
        for fish, share in fish_there(view.lit, view.kindling):
            turn = fish.x * 2.1 + fish.y * 5.0
            sway = 0.10 * math.sin(view.time_s * 0.50 + turn) * (1.3 - fish.size)
            lift = 0.035 * math.sin(view.time_s * 0.73 + 1.7 * turn)
            come = -fish.looks * 0.9 * (1 - soft(share))
            wag = round(WAGS * math.sin(view.time_s * 1.6 + turn))
            corner = self._stage.at(
                X + fish.x + sway + come + BOX.left() * fish.size,
                Y + fish.y + lift + BOX.top() * fish.size,
            )
            painter.setOpacity(soft(share))
            painter.drawImage(corner, self._pose(fish, wag, asleep))
        painter.setOpacity(1.0)

    def _pose(self, fish: Fish, wag: int, asleep: bool) -> QImage:
        key = (fish, wag, asleep)
        if key not in self._poses:
            self._poses[key] = _paint_fish(fish, fish.size * self._stage.unit, wag / WAGS, asleep)
        return self._poses[key]


def _paint_fish(fish: Fish, size: float, wag: float, asleep: bool) -> QImage:
    """Return a fish in its `BOX`, ``size`` pixels a unit of it."""
    image = clear_image(math.ceil(BOX.width() * size), math.ceil(BOX.height() * size))
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.translate(-BOX.left() * size, -BOX.top() * size)
    painter.scale(size * fish.looks, size)
    _draw_tail(painter, fish, wag)
    _draw_body(painter, fish)
    _draw_face(painter, asleep)
    painter.end()
    return image


def _draw_tail(painter: QPainter, fish: Fish, wag: float) -> None:
    painter.setBrush(QColor(*fish.fin))
    tip = -1.16 - 0.05 * wag
    tail = QPainterPath(QPointF(-0.66, 0.0))
    tail.cubicTo(-0.9, -0.10, tip, -0.50, tip - 0.02, -0.40)
    tail.cubicTo(tip + 0.12, -0.12, tip + 0.12, 0.12, tip - 0.02, 0.40)
    tail.cubicTo(tip, 0.50, -0.9, 0.10, -0.66, 0.0)
    painter.drawPath(tail)
    back = QPainterPath(QPointF(-0.38, -0.46))
    back.cubicTo(-0.30, -0.86, 0.12, -0.84, 0.28, -0.50)
    back.closeSubpath()
    painter.drawPath(back)


def _draw_body(painter: QPainter, fish: Fish) -> None:
    painter.setBrush(QColor(*fish.body))
    body = QPainterPath(QPointF(-0.84, 0.0))
    body.cubicTo(-0.50, -0.66, 0.42, -0.80, 0.78, -0.12)
    body.cubicTo(0.84, 0.02, 0.82, 0.12, 0.76, 0.18)
    body.cubicTo(0.36, 0.74, -0.46, 0.64, -0.84, 0.0)
    painter.drawPath(body)
    light = QColor(255, 248, 232, 120)
    if fish.dress == "belly":
        painter.setBrush(light)
        belly = QPainterPath(QPointF(-0.62, 0.18))
        belly.cubicTo(-0.30, 0.56, 0.34, 0.60, 0.68, 0.24)
        belly.cubicTo(0.30, 0.30, -0.20, 0.26, -0.62, 0.18)
        painter.drawPath(belly)
    elif fish.dress == "spots":
        painter.setBrush(light)
        for x, y, wide in ((-0.34, -0.16, 0.11), (-0.08, 0.14, 0.08), (-0.02, -0.28, 0.07)):
            painter.drawEllipse(QPointF(x, y), wide, wide)
    painter.setBrush(QColor(*fish.fin))
    fin = QPainterPath(QPointF(0.04, 0.14))
    fin.cubicTo(-0.10, 0.34, -0.34, 0.44, -0.38, 0.32)
    fin.cubicTo(-0.34, 0.18, -0.12, 0.08, 0.04, 0.14)
    painter.drawPath(fin)


def _draw_face(painter: QPainter, asleep: bool) -> None:
    line = QPen(QColor(*INK), 0.055)
    line.setCapStyle(Qt.PenCapStyle.RoundCap)
    if asleep:
        painter.setPen(line)
        painter.drawArc(QRectF(0.34, -0.24, 0.22, 0.18), 200 * 16, 140 * 16)
    else:
        painter.setBrush(QColor(*INK))
        painter.drawEllipse(QPointF(0.45, -0.15), 0.105, 0.115)
        painter.setBrush(QColor(255, 252, 244))
        painter.drawEllipse(QPointF(0.49, -0.19), 0.036, 0.036)
    painter.setPen(line)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawArc(QRectF(0.52, 0.00, 0.20, 0.16), 200 * 16, 120 * 16)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(255, 190, 170, 110))
    painter.drawEllipse(QPointF(0.34, 0.10), 0.11, 0.07)
