"""Shared drawing: still pictures of pyqtgraph, and layers painted in pixels upon them.

Everything here is made for software rendering: lines one pixel wide, no antialiasing of curves,
fixed ranges, no grid, and only what changed is drawn again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pyqtgraph as pg
from PyQt6.QtCore import QLineF, QPointF, QRectF, Qt
from PyQt6.QtGui import QBrush, QColor, QFontMetrics, QPainter, QPen, QPolygonF, QTransform
from PyQt6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from engine.chunk import Floats
from ui.theme import DARK, SMALL, Look

Ticks = Sequence[tuple[float, str]]


class Picture(pg.PlotWidget):
    """A plot that stands still: no mouse, no menu, ranges and ticks set by its owner."""

    def __init__(self, left: float = 34, bottom: float = 18, top: float = 0, right: float = 0):
        super().__init__(enableMenu=False)
        self.look = Look(DARK, 1.0)
        self._left, self._bottom, self._top, self._right = left, bottom, top, right
        self._range: tuple[float, float, float, float] | None = None
        self._layers: list[Layer] = []
        plot = self.getPlotItem()
        plot.hideButtons()
        plot.setMouseEnabled(False, False)
        plot.disableAutoRange()
        self.box: pg.ViewBox = plot.getViewBox()
        self.box.setDefaultPadding(0)
        self.setFrameShape(pg.QtWidgets.QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setMinimumSize(40, 30)

    def dress(self, look: Look) -> None:
        """Take on a look."""
        self.look = look
        self.setBackground(look.palette.panel)
        plot = self.getPlotItem()
        plot.layout.setContentsMargins(0, look.px(self._top), look.px(self._right), 0)
        for side, size in (("left", self._left), ("bottom", self._bottom)):
            axis = plot.getAxis(side)
            plot.showAxis(side, size > 0)
            axis.setStyle(tickLength=0, tickFont=look.font(SMALL - 1), tickTextOffset=look.px(4))
            axis.setTextPen(look.palette.muted)
            axis.setPen(look.palette.line)
            (axis.setWidth if side == "left" else axis.setHeight)(look.px(size) if size else 0)
        for layer in self._layers:
            layer.look = look
            layer.update()

    def show_range(self, x0: float, x1: float, y0: float, y1: float) -> None:
        """Show this part of the plane, exactly."""
        if (x0, x1, y0, y1) != self._range:
            self._range = (x0, x1, y0, y1)
            self.box.setRange(xRange=(x0, x1), yRange=(y0, y1), padding=0, disableAutoRange=True)
            for layer in self._layers:
                layer.moved()

    def show_ticks(self, side: str, ticks: Ticks) -> None:
        """Write these numbers along an axis, and no others."""
        self.getPlotItem().getAxis(side).setTicks([list(ticks)])

    def curve(self, step: bool = False) -> pg.PlotCurveItem:
        """Add a curve."""
        curve = pg.PlotCurveItem(antialias=False, stepMode="right" if step else None)
        self.box.addItem(curve, ignoreBounds=True)
        return curve

    def layer(self, draw: Callable[[QPainter, Plane], None], z: float) -> Layer:
        """Add a layer that ``draw`` paints; above the curves where ``z`` is positive."""
        layer = Layer(self, draw)
        self.box.addItem(layer, ignoreBounds=True)
        layer.setZValue(z)
        self._layers.append(layer)
        return layer

    @property
    def plane_width(self) -> int:
        """Width of the part inside the axes, in pixels."""
        return max(1, int(self.box.width()))

    def y_at(self, y_pixel: float) -> float:
        """Return the value at a height in the widget's pixels."""
        return float(self.box.mapSceneToView(QPointF(self.mapToScene(0, int(y_pixel)))).y())

    def pixel_of(self, y: float) -> float:
        """Return the height of a value in the widget's pixels."""
        return float(self.mapFromScene(self.box.mapViewToScene(QPointF(0, y))).y())


class Plane:
    """Where values lie in a picture, in pixels."""

    def __init__(self, transform: QTransform, view: QRectF):
        corners = transform.mapRect(view)
        self.left, self.right = corners.left(), corners.right()
        self.top, self.bottom = corners.top(), corners.bottom()
        self._scale_x, self._shift_x = transform.m11(), transform.dx()
        self._scale_y, self._shift_y = transform.m22(), transform.dy()

    def x(self, value: float) -> float:
        """Return the pixel of a value across."""
        return value * self._scale_x + self._shift_x

    def y(self, value: float) -> float:
        """Return the pixel of a value up."""
        return value * self._scale_y + self._shift_y

    def points(self, x: Floats, y: Floats) -> QPolygonF:
        """Return points in pixels."""
        across, up = x * self._scale_x + self._shift_x, y * self._scale_y + self._shift_y
        polygon: QPolygonF = pg.functions.arrayToQPolygonF(across, up)
        return polygon

    @property
    def rect(self) -> QRectF:
        return QRectF(self.left, self.top, self.right - self.left, self.bottom - self.top)


class Layer(QGraphicsItem):
    """Something painted over or under the curves of a picture, in its pixels."""

    def __init__(self, picture: Picture, draw: Callable[[QPainter, Plane], None]):
        super().__init__()
        self.look = picture.look
        self._box = picture.box
        self._draw = draw

    def moved(self) -> None:
        """Tell that the picture shows another part of the plane."""
        self.prepareGeometryChange()
        self.update()

    def boundingRect(self) -> QRectF:
        return QRectF(self._box.viewRect())

    def paint(
        self,
        painter: QPainter | None,
        option: QStyleOptionGraphicsItem | None,
        widget: QWidget | None = None,
    ) -> None:
        assert painter is not None
        plane = Plane(painter.transform(), self.boundingRect())
        painter.save()
        painter.resetTransform()
        painter.setClipRect(plane.rect, Qt.ClipOperation.IntersectClip)
        self._draw(painter, plane)
        painter.restore()


Span = tuple[float, float, str]
"""Start and end in seconds, and a name."""


def draw_spans(painter: QPainter, plane: Plane, look: Look, spans: Sequence[Span]) -> None:
    """Shade stretches of time as hidden: by colour and by hatching."""
    brush = QBrush(look.colour("hidden"), Qt.BrushStyle.BDiagPattern)
    for box, _ in _boxes(plane, spans):
        painter.fillRect(box, look.colour("hidden_ground"))
        painter.fillRect(box, brush)


def draw_span_names(painter: QPainter, plane: Plane, look: Look, spans: Sequence[Span]) -> None:
    """Write the name of each stretch where there is room before the next."""
    font = look.font(SMALL)
    metrics = QFontMetrics(font)
    painter.setFont(font)
    boxes = _boxes(plane, spans)
    free_from = plane.left
    for number, (box, name) in enumerate(boxes):
        width = metrics.horizontalAdvance(name) + look.px(6)
        next_left = boxes[number + 1][0].left() if number + 1 < len(boxes) else plane.right
        left = max(min(box.left(), plane.right - width), free_from)
        if left + width <= max(next_left, box.right()):
            plate = QRectF(left, plane.top, width, metrics.height())
            painter.fillRect(plate, look.colour("hidden_ground"))
            painter.setPen(look.colour("hidden"))
            painter.drawText(plate, int(Qt.AlignmentFlag.AlignCenter), name)
            free_from = left + width


def _boxes(plane: Plane, spans: Sequence[Span]) -> list[tuple[QRectF, str]]:
    boxes = []
    for start, end, name in spans:
        left, right = max(plane.x(start), plane.left), min(plane.x(end), plane.right)
        if right > left:
            height = plane.bottom - plane.top
            boxes.append((QRectF(left, plane.top, max(2.0, right - left), height), name))
    return boxes


def draw_tag(
    painter: QPainter,
    look: Look,
    text: str,
    right: float,
    middle: float,
    fill: str,
    ink: str,
    size: float = SMALL,
) -> QRectF:
    """Draw a filled plate with a short text that ends at ``right``; return where it is."""
    font = look.font(size, bold=True)
    metrics = QFontMetrics(font)
    width = metrics.horizontalAdvance(text) + look.px(10)
    plate = QRectF(right - width, middle - metrics.height() / 2, width, metrics.height())
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(look.colour(fill))
    painter.drawRect(plate)
    painter.setFont(font)
    painter.setPen(look.colour(ink))
    painter.drawText(plate, int(Qt.AlignmentFlag.AlignCenter), text)
    return plate


def level_line(painter: QPainter, plane: Plane, y: float, colour: QColor, dashes: bool) -> None:
    """Draw a horizontal line across the picture."""
    pen = QPen(colour, 1)
    if dashes:
        pen.setDashPattern([6, 4])
    painter.setPen(pen)
    painter.drawLine(QLineF(plane.left, round(y) + 0.5, plane.right, round(y) + 0.5))


def area(plane: Plane, x: Floats, y: Floats, floor: Floats) -> QPolygonF:
    """Return the closed shape between a curve and another, in pixels; all (n,)."""
    return plane.points(np.concatenate([x, x[::-1]]), np.concatenate([y, floor[::-1]]))


def round_above(value: float) -> float:
    """Return the next of 1, 1.5, 2, 3, 4, 5, 6, 8 (times a power of ten) at or above ``value``."""
    power = 10.0 ** np.floor(np.log10(max(value, 1e-6)))
    for step in (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0):
        if step * power >= value * (1 - 1e-9):
            return float(step * power)
    return float(10.0 * power)
