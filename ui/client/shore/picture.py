"""The whole picture at one size: still layers kept as images, moving parts drawn afresh."""

from __future__ import annotations

from PyQt6.QtCore import QRectF, Qt
from PyQt6.QtGui import QColor, QFont, QPainter

from ui.client.easing import soft
from ui.client.lettering import Lettering
from ui.client.pictures import Pictures, clear_image
from ui.client.shore.fog import draw_fog, paint_fog
from ui.client.shore.frame import Frame
from ui.client.shore.glow import draw_light, draw_streak
from ui.client.shore.land import paint_land
from ui.client.shore.lights import far_shore
from ui.client.shore.near import draw_posts, draw_tide, paint_grasses, paint_sand
from ui.client.shore.view import ShoreView
from ui.client.shore.water import draw_glints, draw_water, margin, paint_mirror

SHADES = 56
"""Steps between the cool and the warm picture: each changes a colour by two in 255 at most."""


class Picture:
    """All layers for a picture of ``width`` by ``height`` device pixels."""

    def __init__(self, width: int, height: int) -> None:
        self.frame = Frame(width, height)
        self._land = [paint_land(self.frame, warm) for warm in (False, True)]
        self._mirror = [
            paint_mirror(self.frame, land, warm)
            for land, warm in zip(self._land, (False, True), strict=True)
        ]
        self._sand = paint_sand(self.frame)
        self._grasses = paint_grasses(self.frame)
        self._fog = paint_fog(self.frame)
        self._lit_land = clear_image(width, self._land[0].height())
        self._lit_mirror = clear_image(self._mirror[0].width(), self._mirror[0].height())
        self._lit = 0
        self._shade = -1
        self._now_land = self._land[0].copy()
        self._now_mirror = self._mirror[0].copy()

    def draw(self, painter: QPainter, view: ShoreView) -> None:
        """Draw a view with its left top corner at the origin, in device pixels."""
        frame = self.frame
        self._update(round(view.sky * SHADES), min(view.lit, len(far_shore().lights)))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.drawImage(0, 0, self._now_land)
        end = self._end(view)
        draw_water(painter, frame, self._now_mirror, view.time_s, end)
        self._draw_kindling(painter, view)
        draw_glints(painter, frame, view.time_s, view.sky, end)
        draw_tide(painter, frame, self._sand, view.level, view.wet, view.time_s)
        draw_posts(painter, frame, view.level, view.time_s)
        if view.fog > 0.004:
            draw_fog(painter, frame, self._fog, view.fog, view.time_s)
        painter.drawImage(0, frame.height - self._grasses.height(), self._grasses)
        if view.night > 0:
            painter.fillRect(
                0, 0, frame.width, frame.height, QColor(8, 10, 26, round(88 * soft(view.night)))
            )
        LETTERING.draw(painter, frame.width, frame.height, view)

    def _end(self, view: ShoreView) -> int:
        """Return a row below which the sand hides all water."""
        frame = self.frame
        lines = (frame.tide_line(n / 16, view.level, view.time_s) for n in range(17))
        return round(max(lines) + 0.008 * frame.height) + 2

    def _update(self, shade: int, lit: int) -> None:
        """Mix the cool and the warm layers, with every light that shines fully, when needed."""
        if lit == self._lit and shade == self._shade:
            return
        if lit < self._lit:
            self._lit_land.fill(Qt.GlobalColor.transparent)
            self._lit_mirror.fill(Qt.GlobalColor.transparent)
            self._lit = 0
        for image, draw in ((self._lit_land, draw_light), (self._lit_mirror, draw_streak)):
            painter = QPainter(image)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            for light in far_shore().lights[self._lit : lit]:
                draw(painter, self.frame, light, 1.0)
            painter.end()
        self._lit, self._shade = lit, shade
        layers = (
            (self._now_land, self._land, self._lit_land),
            (self._now_mirror, self._mirror, self._lit_mirror),
        )
        for target, (cool, warm), lights in layers:
            painter = QPainter(target)
            painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Source)
            painter.drawImage(0, 0, cool)
            painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_SourceOver)
            painter.setOpacity(shade / SHADES)
            painter.drawImage(0, 0, warm)
            painter.setOpacity(1.0)
            painter.drawImage(0, 0, lights)
            painter.end()

    def _draw_kindling(self, painter: QPainter, view: ShoreView) -> None:
        lights = far_shore().lights[view.lit : view.lit + len(view.kindling)]
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        for light, share in zip(lights, view.kindling, strict=False):
            draw_light(painter, self.frame, light, soft(share))
            painter.save()
            painter.translate(-margin(self.frame), self.frame.horizon)
            draw_streak(painter, self.frame, light, soft(share))
            painter.restore()


LETTERING = Lettering(
    families=("Georgia", "Palatino Linotype", "Palatino", "P052", "DejaVu Serif"),
    hint=QFont.StyleHint.Serif,
    message=(255, 244, 226),
    count=(255, 236, 205, 175),
    sign=(255, 244, 228, 190),
)

_PICTURES: Pictures[ShoreView] = Pictures(Picture)


def paint_shore(painter: QPainter, rect: QRectF, view: ShoreView) -> None:
    """Draw the view into ``rect`` (logical pixels) of the painter's device."""
    _PICTURES.paint(painter, rect, view)
