"""The glass bowl: its shape, the water in it, its gleams, and the steam that hides it."""

from __future__ import annotations

import math

import numpy as np
from PyQt6.QtCore import QPointF, QRect, QRectF, Qt
from PyQt6.QtGui import QColor, QImage, QLinearGradient, QPainter, QPainterPath, QPen

from ui.client.pictures import clear_image
from ui.client.pixels import noise, step_between, to_image
from ui.client.stage import Stage

X, Y, RADIUS = 8.0, 4.20, 2.95
"""Middle and radius of the bowl in units of the stage (16 by 9)."""
INSIDE = RADIUS - 0.09
OPENING, FLOOR, FOOT = 2.22, 2.66, 2.80
"""How far above the middle it is open, below it the inner floor lies, and it stands."""
WATER_LOW, WATER_HIGH = 0.26, 1.45
"""How far above the middle the water stands at level 0 and 1."""
LOOK = 0.085
"""Height of a level ring, seen a little from above, as a share of its width."""
WATER = ((0.0, (126, 178, 176, 150)), (0.52, (74, 140, 150, 190)), (1.0, (40, 92, 112, 225)))
"""Red, green, blue and opacity from the highest water down to the floor."""
STEAM = (206, 196, 186)


def half_width(up: float, radius: float = INSIDE) -> float:
    """Return half the width of the bowl ``up`` above its middle, in units."""
    return math.sqrt(max(radius * radius - up * up, 0.0))


def water_line(level: float) -> float:
    """Return how far above the middle the water stands."""
    return WATER_LOW + (WATER_HIGH - WATER_LOW) * level


def outline(stage: Stage, radius: float, top: float, foot: float) -> QPainterPath:
    """Return the bowl's side view from ``top`` above to ``foot`` below the middle."""
    box = stage.rect(X - radius, Y - radius, 2 * radius, 2 * radius)
    start, end = math.asin(top / radius), math.asin(foot / radius)
    left_top, left_foot = 180 - math.degrees(start), 180 + math.degrees(end)
    path = QPainterPath()
    path.arcMoveTo(box, left_top)
    path.arcTo(box, left_top, left_foot - left_top)
    path.arcTo(box, 360 - math.degrees(end), math.degrees(end) + math.degrees(start))
    path.closeSubpath()
    return path


def ring(stage: Stage, up: float, half: float) -> QRectF:
    """Return the box of a level ring in the bowl, ``half`` units wide to either side."""
    return stage.rect(X - half, Y - up - half * LOOK, 2 * half, 2 * half * LOOK)


def paint_back(stage: Stage) -> QImage:
    """Return what lies behind water and fish: the far wall of the glass and its rim.

    This and every other layer of the bowl is as large as `placed` says.
    """
    image, painter = _begin(stage)
    painter.setBrush(QColor(255, 250, 240, 22))
    painter.drawPath(outline(stage, RADIUS, OPENING, FOOT))
    _draw_rim(painter, stage, 0, 90)
    painter.end()
    return image.copy(placed(stage))


def placed(stage: Stage) -> QRect:
    """Return the pixels that the bowl takes up: its layers are no larger."""
    half = RADIUS + 0.1
    return stage.rect(X - half, Y - OPENING - 0.3, 2 * half, OPENING + FOOT + 0.4).toAlignedRect()


def paint_water(stage: Stage) -> QImage:
    """Return the bowl full of water, as large as `placed` says."""
    image, painter = _begin(stage)
    shade = QLinearGradient(stage.at(X, Y - WATER_HIGH), stage.at(X, Y + FLOOR))
    for share, colour in WATER:
        shade.setColorAt(share, QColor(*colour))
    painter.setBrush(shade)
    painter.drawPath(outline(stage, INSIDE, WATER_HIGH, FLOOR))
    painter.end()
    return image.copy(placed(stage))


def draw_water(painter: QPainter, stage: Stage, water: QImage, level: float) -> None:
    """Draw as much of the ``water`` as stands there at ``level`` (0-1), with its surface."""
    up = water_line(level)
    surface = ring(stage, up, half_width(up))
    corner = placed(stage).topLeft()
    top = max(surface.center().y() - corner.y(), 0.0)
    body = QRectF(0, top, water.width(), water.height() - top)
    painter.drawImage(body.translated(corner.toPointF()), water, body)
    painter.setBrush(QColor(176, 212, 204, 128))
    painter.setPen(QPen(QColor(226, 240, 230, 96), max(0.022 * stage.unit, 1.0)))
    painter.drawEllipse(surface)
    painter.setPen(Qt.PenStyle.NoPen)


def paint_front(stage: Stage) -> QImage:
    """Return the near wall of the glass: its edge, its gleams and the rim before the water."""
    image, painter = _begin(stage)
    edge = QLinearGradient(stage.at(X - RADIUS, Y), stage.at(X + RADIUS, Y))
    for place, alpha in ((0.0, 190), (0.12, 70), (0.5, 26), (0.88, 60), (1.0, 150)):
        edge.setColorAt(place, QColor(255, 248, 236, alpha))
    pen = QPen(edge, max(0.075 * stage.unit, 1.0))
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPath(outline(stage, RADIUS - 0.04, OPENING - 0.05, FOOT - 0.03))
    _draw_gleams(painter, stage)
    _draw_rim(painter, stage, 180, 180)
    painter.end()
    return image.copy(placed(stage))


def _draw_gleams(painter: QPainter, stage: Stage) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    for angle, length, size, wide, alpha in (
        (152, 46, 0.90, 0.085, 120),
        (141, 16, 0.955, 0.035, 110),
        (-38, 30, 0.93, 0.045, 70),
    ):
        outer = stage.rect(X - RADIUS * size, Y - RADIUS * size, *(2 * RADIUS * size,) * 2)
        inset = wide * stage.unit
        inner = outer.adjusted(inset, inset * 0.2, -inset, -inset * 0.2)
        path = QPainterPath()
        path.arcMoveTo(outer, angle)
        path.arcTo(outer, angle, length)
        path.arcTo(inner, angle + length, -length)
        path.closeSubpath()
        painter.setBrush(QColor(255, 250, 238, alpha))
        painter.drawPath(path)


def _draw_rim(painter: QPainter, stage: Stage, start: int, alpha: int) -> None:
    half = half_width(OPENING, RADIUS) + 0.06
    painter.setBrush(Qt.BrushStyle.NoBrush)
    pen = QPen(QColor(255, 250, 240, alpha), max(0.085 * stage.unit, 1.0))
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    painter.setPen(pen)
    painter.drawArc(ring(stage, OPENING, half), start * 16, 180 * 16)
    painter.setPen(Qt.PenStyle.NoPen)


def paint_steam(stage: Stage) -> QImage:
    """Return the bowl with its glass steamed up: little is seen through it."""
    unit = stage.unit
    rows, columns = max(round(2 * RADIUS * unit), 8), max(round(2 * RADIUS * unit), 8)
    clouds = noise(71, rows, columns, 5, 5, 3)
    pearls = noise(73, rows, columns, 60, 60, 2)
    alpha = 0.86 + 0.10 * (clouds - 0.5) - 0.20 * step_between(pearls, 0.66, 0.80)
    shade = np.clip(1.0 + 0.18 * (clouds - 0.5) - 0.06 * (pearls - 0.5), 0, 1.2)
    colours = np.array(STEAM, np.float32) * shade[..., None]
    veil = to_image(colours.astype(np.float32), np.clip(alpha, 0, 1).astype(np.float32))
    image, painter = _begin(stage)
    painter.setClipPath(outline(stage, RADIUS - 0.06, OPENING - 0.02, FOOT - 0.04))
    painter.drawImage(QPointF(stage.at(X - RADIUS, Y - RADIUS)), veil)
    painter.end()
    return image.copy(placed(stage))


def _begin(stage: Stage) -> tuple[QImage, QPainter]:
    image = clear_image(stage.width, stage.height)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    painter.setPen(Qt.PenStyle.NoPen)
    return image, painter
