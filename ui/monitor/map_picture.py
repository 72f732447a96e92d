"""The picture of a rate map: shades, the zone outlined, today's point, and the point chosen."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pyqtgraph as pg
from PyQt6.QtCore import QEvent, QLineF, QObject, QPointF, QRectF, Qt
from PyQt6.QtGui import QFontMetrics, QMouseEvent, QPainter, QPen

from engine.chunk import Floats
from engine.reward.rate_map import RateMap
from ui.plots import Picture, Plane
from ui.theme import SMALL, Look

Point = tuple[float, float]
"""Thresholds across and up."""


class MapPicture(Picture):
    """Rates as shades; ``chosen`` hears where the mouse chooses a point."""

    def __init__(self, chosen: Callable[[Point], object]):
        super().__init__(left=44, bottom=20, top=2, right=4)
        self._choose = chosen
        self._map: RateMap | None = None
        self._zone = (0.0, 0.0)
        self._fresh = True
        self._rect = QRectF()
        self.today: Point | None = None
        self.point: Point | None = None
        self._image = pg.ImageItem()
        self.box.addItem(self._image, ignoreBounds=True)
        self._over = self.layer(self._draw_over, z=10)
        self.viewport().installEventFilter(self)
        self.viewport().setCursor(Qt.CursorShape.CrossCursor)

    def dress(self, look: Look) -> None:
        super().dress(look)
        self._colour()

    def show_map(
        self, found: RateMap | None, zone: Point, today: Point, point: Point | None, fresh: bool
    ) -> None:
        """Show a map; ``fresh`` tells whether it is of the settings as they are."""
        new = found is not self._map or fresh != self._fresh or zone != self._zone
        if new or (today, point) != (self.today, self.point):
            self.today, self.point = today, point
            self._over.update()
        if not new:
            return
        self._map, self._zone, self._fresh = found, zone, fresh
        if found is not None:
            (x0, x1), (y0, y1) = edges(found.across_uv), edges(found.up_uv)
            self._rect = QRectF(x0, y0, x1 - x0, y1 - y0)
            self.show_range(x0, x1, y0, y1)
            for side, values in (("bottom", found.across_uv), ("left", found.up_uv)):
                marks = np.linspace(values[0], values[-1], 5)[1:-1]
                self.show_ticks(side, [(float(v), f"{v:.2f}") for v in marks])
        self._colour()

    def _colour(self) -> None:
        """Shade every cell: the zone as it is everywhere, the rest lighter as points come."""
        if self._map is None:
            self._image.clear()
            return
        rates, (low, high) = self._map.rates, self._zone
        ground, most, zone = (
            np.array(self.look.colour(name).getRgb()[:3], dtype=float)
            for name in ("ground", "line", "zone_ground")
        )
        share = np.clip(rates / max(2.0 * high, 1e-6), 0.0, 1.0)[..., None]
        shades = ground + share * (most - ground)
        shades[(rates >= low) & (rates <= high)] = zone
        if not self._fresh:
            panel = np.array(self.look.colour("panel").getRgb()[:3], dtype=float)
            shades = (shades + panel) / 2
        image = np.ascontiguousarray(shades.transpose(1, 0, 2).round().astype(np.uint8))
        self._image.setImage(image, autoLevels=False)
        self._image.setRect(self._rect)
        self._over.update()

    def eventFilter(self, watched: QObject | None, event: QEvent | None) -> bool:
        """Choose a point by a click, or by moving on with the button held."""
        if not isinstance(event, QMouseEvent):
            return bool(super().eventFilter(watched, event))
        held = event.buttons() & Qt.MouseButton.LeftButton
        if held and event.type() in (QEvent.Type.MouseButtonPress, QEvent.Type.MouseMove):
            at = self.box.mapSceneToView(self.mapToScene(event.position().toPoint()))
            self._choose((float(at.x()), float(at.y())))
        return True

    # ---- painting ---------------------------------------------------------------------------

    def _draw_over(self, painter: QPainter, plane: Plane) -> None:
        found, look = self._map, self.look
        if found is None:
            return
        low, high = self._zone
        ink = look.colour("zone" if self._fresh else "muted")
        within = (found.rates >= low) & (found.rates <= high)
        painter.setPen(QPen(ink, look.px(1.6)))
        painter.drawLines(*outline(within, found, plane))
        self._name_regions(painter, plane, found)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.today is not None:
            self._draw_today(painter, plane, self.today)
        if self.point is not None and self.point != self.today:
            self._draw_point(painter, plane, self.point)

    def _name_regions(self, painter: QPainter, plane: Plane, found: RateMap) -> None:
        """Write what each region means in its middle, where it is large enough to hold it."""
        look, (low, high) = self.look, self._zone
        font = look.font(SMALL)
        metrics = QFontMetrics(font)
        painter.setFont(font)
        rates = found.rates
        within = (rates >= low) & (rates <= high)
        for words, region in (
            (f"under {low:g}", rates < low),
            (f"{low:g} to {high:g}", within),
            (f"over {high:g}", rates > high),
        ):
            up, across, length = widest(region)
            x, y = plane.x(found.across_uv[across]), plane.y(found.up_uv[up])
            box = QRectF(0, 0, metrics.horizontalAdvance(words) + look.px(8), metrics.height())
            room = length * (plane.right - plane.left) / region.shape[1]
            if not length or (region is not within and room < box.width()):
                continue
            box.moveCenter(QPointF(x, y))
            box.moveLeft(min(max(box.left(), plane.left), plane.right - box.width()))
            box.moveTop(min(max(box.top(), plane.top), plane.bottom - box.height()))
            if region is within:
                painter.fillRect(box, look.colour("zone_ground"))
            painter.setPen(look.colour("text" if self._fresh else "muted"))
            painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), words)

    def _draw_today(self, painter: QPainter, plane: Plane, today: Point) -> None:
        look = self.look
        x, y = plane.x(today[0]), plane.y(today[1])
        pen = QPen(look.colour("muted"), 1)
        pen.setDashPattern([2, 4])
        painter.setPen(pen)
        painter.drawLine(QLineF(x, plane.top, x, plane.bottom))
        painter.drawLine(QLineF(plane.left, y, plane.right, y))
        painter.setPen(QPen(look.colour("ground"), look.px(1)))
        painter.setBrush(look.colour("text"))
        painter.drawEllipse(QPointF(x, y), look.px(5), look.px(5))
        self._label(painter, plane, QPointF(x, y), "today")

    def _draw_point(self, painter: QPainter, plane: Plane, point: Point) -> None:
        look = self.look
        x, y = plane.x(point[0]), plane.y(point[1])
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for colour, width in (("ground", 4.0), ("focus", 2.0)):
            painter.setPen(QPen(look.colour(colour), look.px(width)))
            painter.drawEllipse(QPointF(x, y), look.px(7), look.px(7))

    def _label(self, painter: QPainter, plane: Plane, at: QPointF, words: str) -> None:
        look = self.look
        font = look.font(SMALL, bold=True)
        metrics = QFontMetrics(font)
        width, gap = metrics.horizontalAdvance(words) + look.px(6), look.px(9)
        left = at.x() + gap if at.x() + gap + width <= plane.right else at.x() - gap - width
        top = at.y() - metrics.height() - look.px(3)
        plate = QRectF(left, top if top >= plane.top else at.y() + look.px(3), width, 0)
        plate.setHeight(metrics.height())
        painter.setFont(font)
        painter.fillRect(plate, look.colour("panel"))
        painter.setPen(look.colour("text"))
        painter.drawText(plate, int(Qt.AlignmentFlag.AlignCenter), words)


def edges(values: Floats) -> tuple[float, float]:
    """Return where the first cell begins and the last ends, around values in their middles."""
    half = max((values[-1] - values[0]) / max(1, values.size - 1), 1e-3) / 2
    return float(values[0] - half), float(values[-1] + half)


def outline(region: np.ndarray, found: RateMap, plane: Plane) -> list[QLineF]:
    """Return the borders of a region between its cells and those outside it, in pixels."""
    n_up, n_across = region.shape
    (x0, x1), (y0, y1) = edges(found.across_uv), edges(found.up_uv)
    xs = [round(plane.x(v)) + 0.5 for v in np.linspace(x0, x1, n_across + 1)]
    ys = [round(plane.y(v)) + 0.5 for v in np.linspace(y0, y1, n_up + 1)]
    lines = []
    for i, j in zip(*np.nonzero(region[:, 1:] != region[:, :-1]), strict=True):
        lines.append(QLineF(xs[j + 1], ys[i], xs[j + 1], ys[i + 1]))
    for i, j in zip(*np.nonzero(region[1:] != region[:-1]), strict=True):
        lines.append(QLineF(xs[j], ys[i + 1], xs[j + 1], ys[i + 1]))
    return lines


def widest(region: np.ndarray) -> tuple[int, int, int]:
    """Return the cell (up, across) in the middle of a region's longest run, and its length."""
    best, place = 0, (0, 0)
    for row, cells in enumerate(region):
        ends = np.flatnonzero(np.diff(cells.astype(int), prepend=0, append=0)).reshape(-1, 2)
        for first, last in ends.tolist():
            if last - first > best:
                best, place = last - first, (row, (first + last - 1) // 2)
    return *place, best
