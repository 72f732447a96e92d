"""The bowl at one size: still layers kept as images, water, boat, fish and flower drawn afresh."""

from __future__ import annotations

from PyQt6.QtCore import QRectF, Qt
from PyQt6.QtGui import QColor, QFont, QPainter, QPen

from ui.client.bowl import glass
from ui.client.bowl.beads import beads, draw_bead, draw_ripple, draw_sinking
from ui.client.bowl.boat import draw_boat
from ui.client.bowl.fish import Shoal
from ui.client.bowl.flower import Bloom
from ui.client.bowl.plants import draw_plants
from ui.client.bowl.room import paint_room
from ui.client.bowl.view import BowlView
from ui.client.easing import soft
from ui.client.lettering import Lettering
from ui.client.pictures import Pictures, clear_image
from ui.client.stage import Stage

RIPPLES_APART = 0.2
"""A bead that follows another so closely (share of its way) leaves no ring: rings would flash."""
NIGHT = (24, 18, 44, 120)

LETTERING = Lettering(
    families=("Segoe UI", "Helvetica Neue", "Noto Sans", "DejaVu Sans"),
    hint=QFont.StyleHint.SansSerif,
    message=(255, 243, 222),
    count=(255, 236, 208, 190),
    sign=(255, 240, 216, 200),
)


class BowlPicture:
    """All layers for a picture of ``width`` by ``height`` device pixels."""

    def __init__(self, width: int, height: int) -> None:
        self.stage = Stage(width, height)
        self._room = paint_room(self.stage)
        self._corner = glass.placed(self.stage).topLeft()
        painter = QPainter(self._room)
        painter.drawImage(self._corner, glass.paint_back(self.stage))
        painter.end()
        self._water = glass.paint_water(self.stage)
        self._bloom = Bloom(self.stage)
        self._shoal = Shoal(self.stage)
        self._front = glass.paint_front(self.stage)
        self._steam = glass.paint_steam(self.stage)
        self._laid = clear_image(self._front.width(), self._front.height())
        self._n_laid = -1

    def draw(self, painter: QPainter, view: BowlView) -> None:
        """Draw a view with its left top corner at the origin, in device pixels."""
        stage = self.stage
        self._lay(min(view.lit, len(beads())))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.drawImage(0, 0, self._room)
        self._bloom.draw(painter, view.bloom)
        glass.draw_water(painter, stage, self._water, view.level)
        painter.drawImage(self._corner, self._laid)
        self._shoal.draw(painter, view)
        self._draw_point(painter, view)
        draw_boat(painter, stage, view.level, view.time_s)
        painter.setOpacity(1.0)
        if view.fog > 0.004:
            painter.setOpacity(view.fog)
            painter.drawImage(self._corner, self._steam)
            painter.setOpacity(1.0)
        painter.drawImage(self._corner, self._front)
        if view.night > 0:
            red, green, blue, dark = NIGHT
            shade = QColor(red, green, blue, round(dark * soft(view.night)))
            painter.fillRect(0, 0, stage.width, stage.height, shade)
        LETTERING.draw(painter, stage.width, stage.height, view)

    def _draw_point(self, painter: QPainter, view: BowlView) -> None:
        """Draw the beads that are sinking, and the rings that they leave on the water."""
        stage = self.stage
        top = glass.Y - glass.water_line(view.level)
        before = 2.0
        for bead, share in zip(beads()[view.lit :], view.kindling, strict=False):
            draw_sinking(painter, stage, bead, share, top + 0.1)
            apart, before = before - share, share
            if apart < RIPPLES_APART:
                continue
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(255, 252, 240), max(0.03 * stage.unit, 1.0)))
            draw_ripple(painter, stage.at(bead.start, top), 0.55 * stage.unit, share)
            painter.setPen(Qt.PenStyle.NoPen)

    def _lay(self, n_beads: int) -> None:
        """Bring the layer of plants and of beads that lie there up to ``n_beads``."""
        if n_beads == self._n_laid:
            return
        self._laid.fill(Qt.GlobalColor.transparent)
        painter = QPainter(self._laid)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.translate(-self._corner.toPointF())
        draw_plants(painter, self.stage, n_beads)
        for bead in beads()[:n_beads]:
            draw_bead(painter, self.stage, bead)
        painter.end()
        self._n_laid = n_beads


_PICTURES: Pictures[BowlView] = Pictures(BowlPicture)


def paint_bowl(painter: QPainter, rect: QRectF, view: BowlView) -> None:
    """Draw the view into ``rect`` (logical pixels) of the painter's device."""
    _PICTURES.paint(painter, rect, view)
