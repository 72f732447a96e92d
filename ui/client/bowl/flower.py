"""The flower in its pot: it opens as the conditions come near, and closes as they leave."""

from __future__ import annotations

import math

from PyQt6.QtCore import QPointF, Qt
from PyQt6.QtGui import QColor, QPainter, QPainterPath, QPen

from ui.client.easing import soft
from ui.client.pictures import clear_image
from ui.client.stage import Stage

X, FOOT, HEAD = 12.55, 7.05, 4.10
"""Middle of the pot, where it stands, and how high the flower is, in units of the stage."""
REACH = 1.0
"""What the head takes up to every side."""
STEPS = 120
N_PETALS = 9
PETAL, PETAL_EDGE = (246, 214, 178), (226, 168, 140)
HEART, STEM, LEAF = (214, 158, 72), (92, 122, 82), (112, 146, 96)
POT, POT_DARK, EARTH = (176, 108, 80), (140, 82, 62), (84, 58, 46)


def paint_pot(painter: QPainter, stage: Stage) -> None:
    """Draw what does not move: pot, stem and leaves."""
    at = stage.at
    pen = QPen(QColor(*STEM), max(0.085 * stage.unit, 1.0))
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    stem = QPainterPath(at(X, FOOT - 0.9))
    stem.cubicTo(at(X - 0.12, FOOT - 1.7), at(X + 0.12, HEAD + 1.1), at(X, HEAD + 0.05))
    painter.drawPath(stem)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(*LEAF))
    for side, up, long in ((-1, 1.45, 0.95), (1, 1.95, 0.80)):
        leaf = QPainterPath(at(X, FOOT - up))
        leaf.cubicTo(
            at(X + side * long * 0.35, FOOT - up - 0.55),
            at(X + side * long * 0.9, FOOT - up - 0.50),
            at(X + side * long, FOOT - up - 0.32),
        )
        leaf.cubicTo(
            at(X + side * long * 0.75, FOOT - up + 0.02),
            at(X + side * long * 0.3, FOOT - up + 0.08),
            at(X, FOOT - up),
        )
        painter.drawPath(leaf)
    _draw_vessel(painter, stage)


def _draw_vessel(painter: QPainter, stage: Stage) -> None:
    at = stage.at
    painter.setBrush(QColor(*POT))
    vessel = QPainterPath(at(X - 0.66, FOOT - 0.95))
    vessel.lineTo(at(X - 0.46, FOOT - 0.06))
    vessel.quadTo(at(X, FOOT + 0.06), at(X + 0.46, FOOT - 0.06))
    vessel.lineTo(at(X + 0.66, FOOT - 0.95))
    painter.drawPath(vessel)
    painter.setBrush(QColor(*POT_DARK, 120))
    shade = QPainterPath(at(X + 0.18, FOOT - 0.85))
    shade.lineTo(at(X + 0.14, FOOT + 0.01))
    shade.lineTo(at(X + 0.46, FOOT - 0.06))
    shade.lineTo(at(X + 0.64, FOOT - 0.85))
    painter.drawPath(shade)
    painter.setBrush(QColor(*POT))
    painter.drawRoundedRect(stage.rect(X - 0.76, FOOT - 1.16, 1.52, 0.32), 6, 6)
    painter.setBrush(QColor(255, 220, 180, 46))
    painter.drawRoundedRect(stage.rect(X - 0.70, FOOT - 1.13, 0.70, 0.10), 3, 3)


class Bloom:
    """The flower's head at one size; drawn anew only when it has opened or closed by a step."""

    def __init__(self, stage: Stage) -> None:
        self._stage = stage
        side = math.ceil(2 * REACH * stage.unit)
        self._image = clear_image(side, side)
        self._step = -1

    def draw(self, painter: QPainter, openness: float) -> None:
        """Draw a bud at 0, a wide open flower at 1."""
        step = round(openness * STEPS)
        if step != self._step:
            self._step = step
            self._image.fill(Qt.GlobalColor.transparent)
            inside = QPainter(self._image)
            inside.setRenderHint(QPainter.RenderHint.Antialiasing)
            _paint_head(inside, self._stage.unit, step / STEPS)
            inside.end()
        painter.drawImage(self._stage.at(X - REACH, HEAD - REACH), self._image)


def _paint_head(painter: QPainter, unit: float, openness: float) -> None:
    wide = soft(openness)
    spread = 7.0 + (360.0 / N_PETALS - 7.0) * wide
    long, thick = 0.92 - 0.10 * wide, 0.15 + 0.07 * wide
    order = sorted(range(N_PETALS), key=lambda n: -abs(n - (N_PETALS - 1) / 2))
    painter.scale(unit, unit)
    painter.translate(REACH, REACH)
    painter.setPen(Qt.PenStyle.NoPen)
    edge, inside = _petal(long, thick), _petal(long - 0.022, thick - 0.010)
    for number in order:
        painter.save()
        painter.rotate((number - (N_PETALS - 1) / 2) * spread)
        painter.setBrush(QColor(*PETAL_EDGE))
        painter.drawPath(edge)
        painter.setBrush(QColor(*PETAL))
        painter.drawPath(inside)
        painter.restore()
    painter.setBrush(QColor(*LEAF))
    if wide < 0.9:
        cup = 0.24 * (1 - wide / 0.9)
        painter.drawPath(_cup(cup))
    heart = 0.30 * wide
    painter.setBrush(QColor(*HEART))
    painter.drawEllipse(QPointF(0, 0), heart, heart)
    painter.setBrush(QColor(150, 98, 50, 150))
    for number in range(7):
        angle = 2 * math.pi * number / 7
        dot = QPointF(0.55 * heart * math.cos(angle), 0.55 * heart * math.sin(angle))
        painter.drawEllipse(dot, 0.09 * heart, 0.09 * heart)


def _petal(long: float, thick: float) -> QPainterPath:
    petal = QPainterPath(QPointF(0, 0.04))
    petal.cubicTo(-1.2 * thick, -0.30 * long, -1.3 * thick, -0.86 * long, 0, -long)
    petal.cubicTo(1.3 * thick, -0.86 * long, 1.2 * thick, -0.30 * long, 0, 0.04)
    return petal


def _cup(size: float) -> QPainterPath:
    """Return the green that holds a bud together."""
    cup = QPainterPath(QPointF(-1.1 * size, -0.6 * size))
    cup.cubicTo(-1.2 * size, 0.7 * size, 1.2 * size, 0.7 * size, 1.1 * size, -0.6 * size)
    cup.quadTo(0.4 * size, -0.1 * size, 0, -1.1 * size)
    cup.quadTo(-0.4 * size, -0.1 * size, -1.1 * size, -0.6 * size)
    return cup
