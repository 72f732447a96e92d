"""Sky, hills and the unlit village: the still part of the picture above the water.

Painted twice: once for a clear warm evening, once for a hazy cool one. The picture is a mixture
of the two.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from PyQt6.QtCore import QPointF, QRectF, Qt
from PyQt6.QtGui import QColor, QImage, QLinearGradient, QPainter, QPainterPath, QPolygonF

from ui.client.pixels import Pixels, Stop, gradient, noise, step_between, to_image
from ui.client.shore.frame import Frame
from ui.client.shore.lights import WIDTH, House, Settlement, Slope, Tree, far_shore

SKY_WARM: tuple[Stop, ...] = (
    (0.00, (30, 40, 82)),
    (0.35, (66, 74, 126)),
    (0.62, (128, 108, 148)),
    (0.82, (204, 142, 140)),
    (1.00, (240, 184, 130)),
)
SKY_COOL: tuple[Stop, ...] = (
    (0.00, (30, 40, 66)),
    (0.35, (50, 63, 92)),
    (0.62, (80, 92, 118)),
    (0.82, (112, 122, 142)),
    (1.00, (132, 138, 152)),
)
SUN_X = 0.71

HILLS = (
    # base, height, waves, phase, warm, cool
    (0.55, 0.95, 1.3, 0.4, (112, 92, 128), (92, 102, 126)),
    (0.30, 1.15, 2.1, 2.6, (80, 72, 110), (74, 85, 110)),
    (0.10, 0.95, 3.3, 4.4, (52, 53, 86), (57, 67, 92)),
)
WALL_WARM, WALL_COOL = ((48, 46, 76), (76, 68, 100)), ((52, 60, 84), (80, 89, 112))
"""Walls at the quay and at the back of the village; so for trees and ground."""
TREE_WARM, TREE_COOL = ((30, 36, 58), (58, 56, 86)), ((40, 51, 70), (68, 79, 101))
GROUND_WARM, GROUND_COOL = ((36, 40, 64), (66, 62, 94)), ((46, 56, 76), (74, 84, 106))


def paint_land(frame: Frame, warm: bool) -> QImage:
    """Return everything above the far shore's water line."""
    image = to_image(_sky(frame, warm))
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    for number, hill in enumerate(HILLS):
        _hill(painter, frame, number, hill, warm)
    _hedges(painter, frame, warm)
    for place in far_shore().settlements:
        _place(painter, frame, place, warm)
    _quay(painter, frame, warm)
    painter.end()
    return image


def _sky(frame: Frame, warm: bool) -> Pixels:
    width, height = frame.width, frame.horizon
    y = np.linspace(0, 1, height, dtype=np.float32)[:, None]
    x = np.linspace(0, 1, width, dtype=np.float32)[None, :]
    lift = 0.05 * np.cos((x - SUN_X) * 3.0) - 0.03 if warm else 0 * x
    sky = gradient(np.clip(y + lift, 0, 1), SKY_WARM if warm else SKY_COOL)
    if warm:
        glow = np.exp(-(((x - SUN_X) / 0.24) ** 2) - ((1.02 - y) / 0.30) ** 2)
        sky += (glow[..., None] * np.array([26, 30, 6], np.float32)).astype(np.float32)
    return _clouds(sky, y, x, warm)


def _clouds(sky: Pixels, y: Pixels, x: Pixels, warm: bool) -> Pixels:
    shape = _cloud_shape(*sky.shape[:2])
    where = np.exp(-(((y - 0.60) / 0.24) ** 2))
    density = step_between(shape, 0.50, 0.72) * where * (0.75 if warm else 0.6)
    shade = gradient(y, CLOUD_WARM if warm else CLOUD_COOL)
    edge = step_between(shape, 0.50, 0.58) * (1 - step_between(shape, 0.58, 0.70)) * where
    if warm:
        near_sun = np.exp(-(((x - SUN_X) / 0.45) ** 2))
        sky = sky + (edge * near_sun)[..., None] * np.array([26, 12, 2], np.float32)
    clouded: Pixels = sky * (1 - density[..., None]) + shade * density[..., None]
    return clouded


@lru_cache(maxsize=1)
def _cloud_shape(height: int, width: int) -> Pixels:
    veils = noise(311, height, width, 9, 3, 4)
    streaks = noise(323, height, width, 22, 3, 3)
    shape: Pixels = 0.62 * veils + 0.38 * streaks
    return shape


CLOUD_WARM: tuple[Stop, ...] = (
    (0.2, (62, 66, 112)),
    (0.55, (120, 96, 134)),
    (0.8, (206, 130, 122)),
    (1.0, (236, 168, 122)),
)
CLOUD_COOL: tuple[Stop, ...] = (
    (0.2, (56, 66, 92)),
    (0.6, (92, 102, 124)),
    (1.0, (126, 132, 146)),
)

Hill = tuple[float, float, float, float, tuple[int, int, int], tuple[int, int, int]]


def _ridge(number: int, hill: Hill, x: float) -> float:
    base, height, waves, phase, _, _ = hill
    share = x / WIDTH
    swing = 0.5 + 0.3 * math.sin(waves * 2.2 * share + phase)
    swing += 0.14 * math.sin(waves * 5.7 * share + 2.3 * phase)
    swing += 0.03 * math.sin(waves * 14.9 * share + phase)
    swing += 0.012 * math.sin(61.0 * share + phase) if number else 0.0
    ends = 0.75 + 0.25 * math.cos((share - 0.42) * 3.0)
    return base + height * swing * ends


def _hill(painter: QPainter, frame: Frame, number: int, hill: Hill, warm: bool) -> None:
    path = QPainterPath(QPointF(0, frame.horizon))
    top = 0.0
    for step in range(161):
        x = WIDTH * step / 160
        ridge = _ridge(number, hill, x)
        top = max(top, ridge)
        path.lineTo(x * frame.across, frame.horizon - ridge * frame.up)
    path.lineTo(frame.width, frame.horizon)
    path.closeSubpath()
    colour = QColor(*(hill[4] if warm else hill[5]))
    haze = QColor(*((196, 140, 140) if warm else (122, 130, 148)))
    shade = QLinearGradient(0, frame.horizon - top * frame.up, 0, frame.horizon)
    shade.setColorAt(0.0, colour)
    shade.setColorAt(1.0, _mix(colour, haze, (0.42, 0.30, 0.12)[number]))
    painter.setBrush(shade)
    painter.drawPath(path)


def _place(painter: QPainter, frame: Frame, place: Settlement, warm: bool) -> None:
    """Draw a settlement terrace by terrace, the farthest first."""
    slope = place.slope
    for row in reversed(range(slope.rows)):
        depth = row / (slope.rows - 1)
        _terrace(painter, frame, slope, depth, warm)
        for tree in place.trees:
            if tree.depth == depth:
                _tree(painter, frame, tree, warm)
        for house in place.houses:
            if house.depth == depth:
                _house(painter, frame, house, warm)


def _terrace(painter: QPainter, frame: Frame, slope: Slope, depth: float, warm: bool) -> None:
    path = QPainterPath(QPointF((slope.centre - slope.spread) * frame.across, frame.horizon))
    for step in range(61):
        x = slope.centre + slope.spread * (step / 30 - 1)
        ground = slope.ground(x, depth) - 0.08 + 0.06 * (1 - abs(step / 30 - 1) ** 4)
        path.lineTo(x * frame.across, frame.horizon - ground * frame.up)
    path.lineTo((slope.centre + slope.spread) * frame.across, frame.horizon)
    painter.setBrush(_mix(*_pair(GROUND_WARM if warm else GROUND_COOL), depth))
    painter.drawPath(path)


def _tree(painter: QPainter, frame: Frame, tree: Tree, warm: bool) -> None:
    painter.setBrush(_mix(*_pair(TREE_WARM if warm else TREE_COOL), tree.depth))
    size = tree.size * frame.up
    wide, tall = (0.45, 1.5) if tree.slim else (1.0, 0.95)
    foot = frame.horizon - tree.y * frame.up
    middle = QPointF(tree.x * frame.across, foot - size * tall * 0.8)
    painter.drawEllipse(middle, size * wide, size * tall)


def _hedges(painter: QPainter, frame: Frame, warm: bool) -> None:
    rng = np.random.default_rng(77)
    painter.setBrush(QColor(*(TREE_WARM if warm else TREE_COOL)[0]))
    for _ in range(120):
        x, size = rng.uniform(0, WIDTH), rng.uniform(0.05, 0.13)
        middle = QPointF(x * frame.across, frame.horizon - rng.uniform(0.0, 0.08) * frame.up)
        painter.drawEllipse(middle, size * frame.up, size * frame.up * 0.8)


def _house(painter: QPainter, frame: Frame, house: House, warm: bool) -> None:
    wall = _mix(*_pair(WALL_WARM if warm else WALL_COOL), house.depth)
    roof = wall.darker(128)
    lit = _mix(wall, QColor(*((214, 140, 128) if warm else (130, 138, 152))), 0.16)
    left, right = house.x * frame.across, house.right * frame.across
    foot = frame.horizon - (house.y - 0.06) * frame.up
    eaves = frame.horizon - (house.y + house.height) * frame.up
    ridge = frame.horizon - house.top * frame.up
    over = 0.02 * frame.up
    shade = QLinearGradient(left, 0, right, 0)
    shade.setColorAt(0.0, wall)
    shade.setColorAt(1.0, lit)
    painter.setBrush(shade)
    painter.drawRect(QRectF(left, eaves, right - left, min(foot, frame.horizon) - eaves))
    painter.setBrush(roof)
    inset = (right - left) * (0.5 if house.gable else 0.1)
    painter.drawPolygon(
        QPolygonF(
            [
                QPointF(left - over, eaves),
                QPointF(left + inset, ridge),
                QPointF(right - inset, ridge),
                QPointF(right + over, eaves),
            ]
        )
    )
    if house.chimney:
        wide = 0.035 * frame.up
        at = right - wide * 2
        painter.drawRect(QRectF(at, ridge - 0.03 * frame.up, wide, house.roof * frame.up))


def _quay(painter: QPainter, frame: Frame, warm: bool) -> None:
    stone = QColor(*((40, 40, 64) if warm else (48, 56, 76)))
    painter.setBrush(stone)
    unit_x, unit_y = frame.across, frame.up
    painter.drawRect(QRectF(0, frame.horizon - 0.05 * unit_y, frame.width, 0.06 * unit_y))
    painter.drawRect(
        QRectF(4.6 * unit_x, frame.horizon - 0.1 * unit_y, 5.7 * unit_x, 0.11 * unit_y)
    )


def _pair(colours: tuple[tuple[int, int, int], tuple[int, int, int]]) -> tuple[QColor, QColor]:
    return QColor(*colours[0]), QColor(*colours[1])


def _mix(one: QColor, other: QColor, share: float) -> QColor:
    return QColor(
        round(one.red() + (other.red() - one.red()) * share),
        round(one.green() + (other.green() - one.green()) * share),
        round(one.blue() + (other.blue() - one.blue()) * share),
    )
