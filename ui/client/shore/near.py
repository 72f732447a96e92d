"""The near shore: sand, the tide that rises over it, posts, stones and grasses."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from PyQt6.QtCore import QPointF, QRectF, Qt
from PyQt6.QtGui import (
    QBrush,
    QColor,
    QImage,
    QLinearGradient,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
    QTransform,
)

from ui.client.shore.frame import Frame
from ui.client.shore.pixels import Stop, gradient, noise, step_between, to_image

SAND: tuple[Stop, ...] = (
    (0.00, (92, 82, 92)),
    (0.35, (74, 66, 76)),
    (1.00, (34, 31, 42)),
)
SAND_TOP = 0.76
"""Highest row of the sand, as a share from the top."""
STEPS = 64


@dataclass(frozen=True)
class Post:
    """A mooring post: foot at (``x``, ``y``), shares of width and height; ``tall`` in height."""

    x: float
    y: float
    tall: float


POSTS = tuple(
    Post(
        x=0.105 + 0.034 * n * (1 - 0.045 * n),
        y=0.935 - 0.029 * n * (1 - 0.055 * n),
        tall=0.135 * (1 - 0.085 * n),
    )
    for n in range(7)
)


def paint_sand(frame: Frame) -> QImage:
    """Return the sand, from `SAND_TOP` to the bottom."""
    rows = frame.height - math.floor(frame.height * SAND_TOP)
    down = np.linspace(0, 1, rows, dtype=np.float32)[:, None] + np.zeros((1, frame.width))
    sand = gradient(down.astype(np.float32), SAND)
    banks = noise(41, rows, frame.width, 5, 4, 3) - 0.5
    furrows = noise(43, rows, frame.width, 46, 12, 2) - 0.5
    grains = np.random.default_rng(47).random((rows, frame.width), np.float32) - 0.5
    texture = 1 + 0.30 * banks + 0.16 * furrows + 0.05 * grains
    pools = step_between(banks, 0.10, 0.22) * (1 - down)
    sand = sand * texture[..., None]
    sand += pools[..., None] * np.array([10, 4, 14], np.float32)
    return to_image(sand.astype(np.float32))


def paint_grasses(frame: Frame) -> QImage:
    """Return the dark grasses in the two lower corners, transparent elsewhere."""
    rows = round(frame.height * 0.24)
    image = QImage(frame.width, rows, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(Qt.GlobalColor.transparent)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    rng = np.random.default_rng(53)
    for centre, spread, count, tallest in ((-0.01, 0.10, 120, 0.19), (1.01, 0.16, 170, 0.22)):
        for _ in range(count):
            away = abs(rng.normal(0, 0.5))
            x = (centre + math.copysign(min(away, 2.0) * spread, 0.5 - centre)) * frame.width
            tall = tallest * frame.height * math.exp(-away * 1.1) * rng.uniform(0.5, 1.0)
            lean = rng.normal(0.15 if centre < 0.5 else -0.15, 0.22) * tall
            wide = rng.uniform(0.0012, 0.0026) * frame.height + 0.4
            shade = int(rng.uniform(14, 30))
            painter.setBrush(QColor(shade, shade + 3, shade + 14))
            blade = QPainterPath(QPointF(x - wide, rows))
            blade.quadTo(QPointF(x, rows - tall * 0.6), QPointF(x + lean, rows - tall))
            blade.quadTo(QPointF(x + wide, rows - tall * 0.5), QPointF(x + wide, rows))
            painter.drawPath(blade)
    painter.end()
    return image


def draw_tide(
    painter: QPainter, frame: Frame, sand: QImage, level: float, wet: float, time_s: float
) -> None:
    """Draw the sand below the water's edge, the part that is still wet, and the edge."""
    edge = _edge(frame, level, time_s)
    top = frame.height - sand.height()
    brush = QBrush(sand)
    brush.setTransform(QTransform.fromTranslate(0, top))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.fillPath(_below(frame, edge), brush)
    _draw_wet(painter, frame, edge, _edge(frame, wet, 0.0), level, wet)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for lift, alpha, thick in ((0.0, 96, 0.0021), (-0.0045, 44, 0.0014)):
        colour = QColor(236, 220, 216, alpha)
        pen = QPen(colour, max(0.8, thick * frame.height))
        painter.setPen(pen)
        painter.drawPolyline(edge.translated(0, lift * frame.height))


def _edge(frame: Frame, level: float, time_s: float) -> QPolygonF:
    return QPolygonF(
        [
            QPointF(frame.width * step / STEPS, frame.tide_line(step / STEPS, level, time_s))
            for step in range(-1, STEPS + 2)
        ]
    )


def _below(frame: Frame, edge: QPolygonF) -> QPainterPath:
    path = QPainterPath()
    path.addPolygon(edge)
    path.lineTo(frame.width * 1.1, frame.height)
    path.lineTo(-frame.width * 0.1, frame.height)
    path.closeSubpath()
    return path


def _draw_wet(
    painter: QPainter, frame: Frame, edge: QPolygonF, reach: QPolygonF, level: float, wet: float
) -> None:
    if wet - level < 0.01:
        return
    band = QPainterPath()
    points = [reach.at(step) for step in range(reach.size())]
    points += [edge.at(step) for step in reversed(range(edge.size()))]
    band.addPolygon(QPolygonF(points))
    colour = QColor(30, 34, 58, round(120 * min((wet - level) * 4, 1.0)))
    painter.fillPath(band, colour)


def draw_posts(painter: QPainter, frame: Frame, level: float, time_s: float) -> None:
    """Draw the mooring posts down to the water that stands around them, and their mirror."""
    for number, post in enumerate(reversed(POSTS)):
        foot = post.y * frame.height
        tall = post.tall * frame.height
        wide = max(1.0, 0.0058 * frame.width * post.tall / POSTS[0].tall)
        depth = max(frame.tide_line(post.x, level, time_s) - foot, 0.0) * 0.55
        shown = max(tall - depth, 0.12 * tall)
        surface = foot - (tall - shown)
        left = post.x * frame.width - wide / 2
        if depth > 0:
            _draw_post_mirror(painter, left, surface, wide, shown, time_s + number)
        shade = QLinearGradient(left, 0, left + wide, 0)
        shade.setColorAt(0.0, QColor(28, 27, 40))
        shade.setColorAt(0.65, QColor(48, 43, 56))
        shade.setColorAt(1.0, QColor(104, 82, 84))
        painter.fillRect(QRectF(left, foot - tall, wide, shown), shade)
        cap = QRectF(left, foot - tall - wide * 0.14, wide, wide * 0.28)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(92, 78, 84))
        painter.drawEllipse(cap)


def _draw_post_mirror(
    painter: QPainter, left: float, surface: float, wide: float, long: float, time_s: float
) -> None:
    pieces = 7
    for piece in range(pieces):
        share = piece / pieces
        sway = math.sin(time_s * 1.3 + piece * 1.1) * wide * 0.22 * (0.2 + share)
        colour = QColor(22, 22, 36, round(120 * (1 - share)))
        painter.fillRect(
            QRectF(left + sway, surface + long * 0.8 * share, wide, long * 0.8 / pieces), colour
        )
