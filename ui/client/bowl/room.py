"""The room behind the bowl: a wall with the window's light on it, a table, and wooden blocks."""

from __future__ import annotations

import math

import numpy as np
from PyQt6.QtCore import QPointF, Qt
from PyQt6.QtGui import QColor, QImage, QPainter, QPainterPath

from ui.client.bowl import glass
from ui.client.bowl.flower import FOOT, paint_pot
from ui.client.bowl.flower import X as POT_X
from ui.client.pixels import Pixels, Stop, gradient, noise, step_between, to_image
from ui.client.stage import Stage

WALL: tuple[Stop, ...] = ((0.0, (112, 80, 76)), (0.55, (150, 108, 90)), (1.0, (168, 124, 98)))
TABLE: tuple[Stop, ...] = (
    (0.0, (138, 94, 66)),
    (0.30, (112, 74, 54)),
    (0.62, (72, 47, 37)),
    (1.0, (56, 36, 30)),
)
SUN = (62, 46, 20)
EDGE = 6.30
"""Where the table begins, down from the top of the stage (16 by 9)."""


def paint_room(stage: Stage) -> QImage:
    """Return everything that stands still behind the bowl."""
    edge = round(stage.at(0, EDGE).y())
    image = to_image(np.concatenate([_wall(stage, edge), _table(stage, edge)]))
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    painter.setPen(Qt.PenStyle.NoPen)
    _shadow(painter, stage, glass.X + 0.5, glass.Y + glass.FOOT + 0.02, 3.1, 0.42, 130)
    _shadow(painter, stage, POT_X + 0.3, FOOT, 1.25, 0.20, 120)
    _shadow(painter, stage, 3.75, 7.32, 1.75, 0.22, 120)
    _glimmer(painter, stage)
    _blocks(painter, stage)
    paint_pot(painter, stage)
    painter.end()
    return image


def _wall(stage: Stage, rows: int) -> Pixels:
    y = _units(rows, stage.top, stage.unit)[:, None]
    x = _units(stage.width, stage.left, stage.unit)[None, :]
    wall = gradient((np.clip(y / EDGE, 0, 1) + 0 * x).astype(np.float32), WALL)
    u, v = (x - 2.432 - 0.42 * y).astype(np.float32), (y - 0.25).astype(np.float32)
    light = np.add(_pane(u, 0.0, 2.85), _pane(u, 3.05, 5.90))
    light = light * np.add(_pane(v, 0.0, 2.15), _pane(v, 2.35, 4.50))
    plaster = noise(83, rows, stage.width, 26, 44, 3) - 0.5
    wall = wall * (1 + 0.05 * plaster[..., None])
    wall += light[..., None] * np.array(SUN, np.float32)
    lit: Pixels = wall.astype(np.float32)
    return lit


def _units(n_pixels: int, first: float, unit: float) -> Pixels:
    """Return where the pixels of a row or column lie on the stage."""
    units: Pixels = ((np.arange(n_pixels) - first) / unit).astype(np.float32)
    return units


def _pane(place: Pixels, start: float, end: float) -> Pixels:
    """Return 1 inside a pane's light, 0 outside, and a soft step between."""
    rise = step_between(place, start - 0.16, start + 0.16)
    fall = step_between(place, end - 0.16, end + 0.16)
    return rise * (1 - fall)


def _table(stage: Stage, edge: int) -> Pixels:
    rows = stage.height - edge
    down = np.linspace(0, 1, rows, dtype=np.float32)[:, None]
    table = gradient((down + np.zeros((1, stage.width))).astype(np.float32), TABLE)
    grain = noise(89, rows, stage.width, 60, 3, 3) - 0.5
    waves = noise(97, rows, stage.width, 14, 4, 2) - 0.5
    table *= (1 + 0.16 * grain + 0.14 * waves)[..., None]
    table[:2] *= 1.12
    wood: Pixels = table.astype(np.float32)
    return wood


def _shadow(
    painter: QPainter, stage: Stage, x: float, y: float, wide: float, tall: float, alpha: int
) -> None:
    for step in range(12):
        share = 1 - step / 12
        painter.setBrush(QColor(34, 20, 18, round(alpha / 7)))
        painter.drawEllipse(
            QPointF(stage.at(x, y)), wide * share * stage.unit, tall * share * stage.unit
        )


def _glimmer(painter: QPainter, stage: Stage) -> None:
    """Draw the light that the water gathers on the table."""
    for step in range(14):
        share = 1 - step / 14
        painter.setBrush(QColor(255, 214, 150, 9))
        middle = stage.at(glass.X + 2.6, glass.Y + glass.FOOT + 0.08)
        painter.drawEllipse(middle, 1.5 * share * stage.unit, 0.17 * share * stage.unit)


def _blocks(painter: QPainter, stage: Stage) -> None:
    """Draw three toy blocks, left of the bowl."""
    for x, y, side, front, shape in (
        (2.35, 6.16, 1.12, (170, 140, 104), "circle"),
        (3.75, 6.24, 1.04, (136, 152, 128), "triangle"),
        (2.92, 5.16, 1.00, (186, 150, 134), "moon"),
    ):
        red, green, blue = front
        painter.setBrush(QColor(*front))
        painter.drawRoundedRect(stage.rect(x, y, side, side), 5, 5)
        painter.setBrush(QColor(round(red * 0.74), round(green * 0.74), round(blue * 0.74)))
        sidewall = QPainterPath(stage.at(x + side, y + 0.03))
        sidewall.lineTo(stage.at(x + side + 0.20, y - 0.10))
        sidewall.lineTo(stage.at(x + side + 0.20, y + side - 0.20))
        sidewall.lineTo(stage.at(x + side, y + side - 0.03))
        painter.drawPath(sidewall)
        painter.setBrush(QColor(*(min(round(part * 1.14), 255) for part in front)))
        lid = QPainterPath(stage.at(x + 0.03, y))
        lid.lineTo(stage.at(x + 0.22, y - 0.12))
        lid.lineTo(stage.at(x + side + 0.20, y - 0.12))
        lid.lineTo(stage.at(x + side - 0.02, y))
        painter.drawPath(lid)
        painter.setBrush(QColor(255, 240, 214, 96))
        painter.drawPath(_figure(stage, x + side / 2, y + side / 2, 0.27 * side, shape))


def _figure(stage: Stage, x: float, y: float, size: float, shape: str) -> QPainterPath:
    path = QPainterPath()
    unit = stage.unit
    if shape == "triangle":
        corners = [
            (x + size * 1.1 * math.sin(a), y + 0.1 * size - size * 1.1 * math.cos(a))
            for a in (0.0, 2 * math.pi / 3, 4 * math.pi / 3)
        ]
        path.moveTo(stage.at(*corners[0]))
        for corner in corners[1:]:
            path.lineTo(stage.at(*corner))
        path.closeSubpath()
        return path
    path.addEllipse(stage.at(x, y), size * unit, size * unit)
    if shape == "moon":
        bite = QPainterPath()
        bite.addEllipse(
            stage.at(x + 0.45 * size, y - 0.2 * size), 0.85 * size * unit, 0.85 * size * unit
        )
        path = path.subtracted(bite)
    return path
