"""The stone at one size: a still ground, a glow, the stone, and the dots that points have left."""

from __future__ import annotations

import numpy as np
from PyQt6.QtCore import QPointF, QRectF, Qt
from PyQt6.QtGui import QColor, QFont, QImage, QPainter, QPen

from ui.client.easing import soft
from ui.client.lettering import Lettering
from ui.client.moment import Moment
from ui.client.pictures import Pictures, clear_image
from ui.client.pixels import gradient, step_between, to_image
from ui.client.stage import Stage
from ui.client.still.dots import Dot, dots

GROUND = ((0.0, (40, 45, 49)), (0.55, (33, 37, 41)), (1.0, (24, 27, 30)))
"""From the middle outwards."""
GLOW = (92, 86, 76)
STONE_LIT, STONE_DARK = (104, 97, 86), (84, 78, 71)
RIM = (104, 97, 86)
DOTS = ((101, 96, 88), (76, 90, 96), (110, 104, 94))
"""One colour a layer."""
MIDDLE_X, MIDDLE_Y = 8.0, 4.16
SMALL, LARGE = 1.15, 2.12
"""Radius of the stone at level 0 and 1."""
GLOW_NEAR, GLOW_FAR = 2.3, 4.6
"""Reach of the glow at warmth 0 and 1."""
NIGHT = 90
SIDE = 512

LETTERING = Lettering(
    families=("Segoe UI", "Helvetica Neue", "Noto Sans", "DejaVu Sans"),
    hint=QFont.StyleHint.SansSerif,
    message=(196, 192, 184),
    count=(0, 0, 0, 0),
    sign=(176, 174, 168, 230),
    middle=0.945,
    digits=False,
)


class StillPicture:
    """All layers for a picture of ``width`` by ``height`` device pixels."""

    def __init__(self, width: int, height: int) -> None:
        self.stage = Stage(width, height)
        self._ground = self._paint_ground()
        self._glow = _glow()
        self._stone = _stone()
        self._laid = clear_image(width, height)
        self._n_laid = 0

    def draw(self, painter: QPainter, view: Moment) -> None:
        """Draw a view with its left top corner at the origin, in device pixels."""
        stage = self.stage
        self._lay(min(view.lit, len(dots())))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.drawImage(0, 0, self._ground)
        hollow = soft(view.fog)
        painter.setOpacity((0.25 + 0.45 * view.warmth) * (1 - hollow))
        reach = GLOW_NEAR + (GLOW_FAR - GLOW_NEAR) * view.warmth
        painter.drawImage(self._box(reach), self._glow)
        painter.setOpacity(1.0)
        self._draw_stone(painter, SMALL + (LARGE - SMALL) * view.level, hollow)
        painter.drawImage(0, 0, self._laid)
        painter.setPen(Qt.PenStyle.NoPen)
        for dot, share in zip(dots()[view.lit :], view.kindling, strict=False):
            painter.setOpacity(soft(share))
            _draw_dot(painter, stage, dot)
        painter.setOpacity(1.0)
        if view.night > 0:
            shade = QColor(8, 9, 11, round(NIGHT * soft(view.night)))
            painter.fillRect(0, 0, stage.width, stage.height, shade)
        LETTERING.draw(painter, stage.width, stage.height, view)

    def _draw_stone(self, painter: QPainter, radius: float, hollow: float) -> None:
        painter.setOpacity(1.0 - hollow)
        painter.drawImage(self._box(radius), self._stone)
        if hollow > 0:
            pen = QPen(QColor(*RIM), max(0.045 * self.stage.unit, 1.0))
            painter.setOpacity(hollow)
            painter.setPen(pen)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(self._box(radius * 0.985))
        painter.setOpacity(1.0)

    def _box(self, radius: float) -> QRectF:
        return self.stage.rect(MIDDLE_X - radius, MIDDLE_Y - radius, 2 * radius, 2 * radius)

    def _paint_ground(self) -> QImage:
        stage = self.stage
        middle = stage.at(MIDDLE_X, MIDDLE_Y)
        down = (np.arange(stage.height, dtype=np.float32)[:, None] - middle.y()) / stage.unit
        across = (np.arange(stage.width, dtype=np.float32)[None, :] - middle.x()) / stage.unit
        away = np.sqrt(down**2 + across**2) / 9.2
        return to_image(gradient(away.astype(np.float32), GROUND))

    def _lay(self, n_dots: int) -> None:
        """Bring the layer of dots that are there fully up to ``n_dots``."""
        if n_dots == self._n_laid:
            return
        if n_dots < self._n_laid:
            self._laid.fill(Qt.GlobalColor.transparent)
            self._n_laid = 0
        painter = QPainter(self._laid)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        for dot in dots()[self._n_laid : n_dots]:
            _draw_dot(painter, self.stage, dot)
        painter.end()
        self._n_laid = n_dots


def _draw_dot(painter: QPainter, stage: Stage, dot: Dot) -> None:
    painter.setBrush(QColor(*DOTS[dot.layer]))
    wide = max(dot.size * stage.unit, 0.7)
    painter.drawEllipse(QPointF(stage.at(MIDDLE_X + dot.x, MIDDLE_Y + dot.y)), wide, wide)


def _stone() -> QImage:
    """Return the stone: lit a little from above, with an edge that is not quite sharp."""
    side = np.linspace(-1, 1, SIDE, dtype=np.float32)
    down, across = side[:, None], side[None, :]
    far = np.sqrt(down**2 + across**2)
    away = np.sqrt((down + 0.35) ** 2 + (across + 0.2) ** 2) / 1.45
    colours = gradient(
        away.astype(np.float32), ((0.0, STONE_LIT), (0.35, STONE_LIT), (1.0, STONE_DARK))
    )
    return to_image(colours, 1 - step_between(far, 0.965, 0.998))


def _glow() -> QImage:
    side = np.linspace(-1, 1, SIDE, dtype=np.float32)
    far = np.sqrt(side[:, None] ** 2 + side[None, :] ** 2)
    alpha = np.clip(1 - far, 0, 1) ** 1.5
    return to_image(np.full((SIDE, SIDE, 3), GLOW, np.float32), alpha.astype(np.float32))


_PICTURES: Pictures[Moment] = Pictures(StillPicture)


def paint_still(painter: QPainter, rect: QRectF, view: Moment) -> None:
    """Draw the view into ``rect`` (logical pixels) of the painter's device."""
    _PICTURES.paint(painter, rect, view)
