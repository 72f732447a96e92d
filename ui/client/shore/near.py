"""The near shore: sand, the tide that rises over it, mooring posts and grasses."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from PyQt6.QtCore import QPointF, QRectF, Qt
from PyQt6.QtGui import QBrush, QColor, QImage, QPainter, QPainterPath, QPen, QPolygonF, QTransform

from ui.client.pixels import Stop, gradient, noise, step_between, to_image
from ui.client.shore.frame import Frame

SAND: tuple[Stop, ...] = (
    (0.00, (98, 86, 102)),
    (0.30, (78, 69, 84)),
    (0.65, (56, 50, 62)),
    (1.00, (32, 30, 42)),
)
SAND_TOP = 0.76
"""Highest row of the sand, as a share from the top."""
STEPS = 40
SHALLOW, FOAM, WET = (70, 64, 86), (240, 224, 220), (26, 28, 50)


@dataclass(frozen=True)
class Post:
    """A mooring post: foot at (``x``, ``y``), shares of width and height; ``tall`` in height."""

    x: float
    y: float
    tall: float


POSTS = tuple(
    Post(
        x=0.105 + 0.034 * n * (1 - 0.045 * n) + 0.002 * math.sin(5.0 * n),
        y=0.935 - 0.029 * n * (1 - 0.055 * n),
        tall=0.130 * (1 - 0.085 * n) * (1 + 0.10 * math.sin(3.7 * n)),
    )
    for n in range(7)
)


def paint_sand(frame: Frame) -> QImage:
    """Return the sand, from `SAND_TOP` to the bottom."""
    rows = frame.height - math.floor(frame.height * SAND_TOP)
    down = np.linspace(0, 1, rows, dtype=np.float32)[:, None]
    sand = gradient(down + np.zeros((1, frame.width), np.float32), SAND)
    banks = noise(41, rows, frame.width, 4, 3, 3) - 0.5
    furrows = noise(43, rows, frame.width, 34, 9, 2) - 0.5
    grains = np.random.default_rng(47).random((rows, frame.width), np.float32) - 0.5
    sand *= (1 + 0.34 * banks + 0.22 * furrows + 0.07 * grains)[..., None]
    pools = step_between(banks, 0.08, 0.20) * (1 - down)
    sand += pools[..., None] * np.array([12, 8, 22], np.float32)
    image = to_image(sand.astype(np.float32))
    _scatter_pebbles(image, frame)
    return image


def _scatter_pebbles(sand: QImage, frame: Frame) -> None:
    rng = np.random.default_rng(59)
    painter = QPainter(sand)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    for _ in range(260):
        down = rng.uniform(0.15, 1.0)
        size = (0.0008 + 0.0030 * down * rng.random() ** 2) * frame.height
        middle = QPointF(rng.uniform(0, frame.width), down * sand.height())
        painter.setBrush(QColor(20, 19, 30, 150))
        painter.drawEllipse(middle + QPointF(-0.3 * size, 0.3 * size), size * 1.9, size)
        shade = rng.uniform(0.7, 1.15) * (1 - 0.5 * down)
        painter.setBrush(QColor(*(round(value * shade) for value in (98, 88, 104))))
        painter.drawEllipse(middle, size * 1.7, size * 0.9)
    painter.end()


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
    """Draw the sand below the water's edge, the part that is still wet, and the soft edge."""
    edge = _edge(frame, level, time_s)
    brush = QBrush(sand)
    brush.setTransform(QTransform.fromTranslate(0, frame.height - sand.height()))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(brush)
    painter.drawPolygon(_down_to(edge, frame.height))
    _draw_wet(painter, frame, level, wet, time_s)
    back = _turned(edge)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(*SHALLOW, 22))
    for band in range(1, 10):
        strip = edge.translated(0, -0.0042 * frame.height * band)
        strip += back
        painter.drawPolygon(strip)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    reach = max(round(0.003 * frame.height), 1)
    for row in range(-reach, reach + 1):
        near = 1 - abs(row) / (reach + 1)
        painter.setPen(QPen(QColor(*FOAM, round((44 if row <= 0 else 28) * near**2)), 1))
        painter.drawPolyline(edge.translated(0, row))


def _edge(frame: Frame, level: float, time_s: float) -> QPolygonF:
    return QPolygonF(
        [
            QPointF(frame.width * step / STEPS, frame.tide_line(step / STEPS, level, time_s))
            for step in range(-1, STEPS + 2)
        ]
    )


def _down_to(edge: QPolygonF, bottom: float) -> QPolygonF:
    corners = [QPointF(edge.last().x(), bottom), QPointF(edge.first().x(), bottom)]
    below = QPolygonF(edge)
    below += QPolygonF(corners)
    return below


def _turned(edge: QPolygonF) -> QPolygonF:
    """Return the edge from right to left."""
    return QPolygonF([edge.at(step) for step in reversed(range(edge.size()))])


def _draw_wet(painter: QPainter, frame: Frame, level: float, wet: float, time_s: float) -> None:
    """Darken the sand between the water and the line it reached a while ago."""
    if wet - level < 0.005:
        return
    back = _turned(_edge(frame, level, time_s))
    for share in (1.0, 0.9, 0.8):
        reach = _edge(frame, level + (wet - level) * share, time_s)
        reach += back
        painter.setBrush(QColor(*WET, round(52 * min((wet - level) * 5, 1.0))))
        painter.drawPolygon(reach)


def draw_posts(painter: QPainter, frame: Frame, level: float, time_s: float) -> None:
    """Draw the mooring posts down to the water that stands around them, and their mirror."""
    for number, post in enumerate(reversed(POSTS)):
        foot = post.y * frame.height
        tall = post.tall * frame.height
        wide = max(1.0, 0.0060 * frame.width * (1.1 - (POSTS[0].y - post.y) * 4.6))
        edge = frame.tide_line(post.x, level, time_s)
        depth = max(edge - foot, 0.0) * 0.62
        shown = max(tall - depth, 0.12 * tall)
        left = post.x * frame.width - wide / 2
        if depth > 0:
            surface = foot - tall + shown
            long = min(0.8 * shown, edge - surface)
            _draw_post_mirror(painter, QRectF(left, surface, wide, long), time_s + number)
        body = (((0.0, 0.40), (30, 28, 42)), ((0.40, 0.36), (46, 42, 56)), ((0.76, 0.24), POST_LIT))
        for (start, share), colour in body:
            slice_ = QRectF(left + start * wide, foot - tall, share * wide, shown)
            painter.fillRect(slice_, QColor(*colour))
        if wide >= 3:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(96, 82, 90))
            painter.drawEllipse(QRectF(left, foot - tall - wide * 0.16, wide, wide * 0.34))


POST_LIT = (88, 72, 78)


def _draw_post_mirror(painter: QPainter, box: QRectF, time_s: float) -> None:
    pieces = 7
    for piece in range(pieces):
        share = piece / pieces
        sway = math.sin(time_s * 1.3 + piece * 1.1) * box.width() * 0.22 * (0.2 + share)
        top = box.top() + box.height() * share
        colour = QColor(22, 22, 36, round(120 * (1 - share)))
        tall = box.height() / pieces
        painter.fillRect(QRectF(box.left() + sway, top, box.width(), tall), colour)
