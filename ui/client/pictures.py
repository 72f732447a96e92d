"""Painted layers kept for the last few sizes, and the way onto a painter's device."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from typing import Generic, Protocol, TypeVar

from PyQt6.QtCore import QRectF, Qt
from PyQt6.QtGui import QImage, QPainter

KEPT_SIZES = 3
SMALLEST = 8
"""Pixels; a smaller picture would show nothing."""

V = TypeVar("V", contravariant=True)


class Picture(Protocol[V]):
    """All layers of a scene at one size; draws a view at the origin, in device pixels."""

    def draw(self, painter: QPainter, view: V) -> None: ...


class Pictures(Generic[V]):
    """The pictures of a scene, each made when its size (device pixels) is first wanted."""

    def __init__(self, make: Callable[[int, int], Picture[V]]) -> None:
        self._make = make
        self._kept: OrderedDict[tuple[int, int], Picture[V]] = OrderedDict()

    def at(self, width: int, height: int) -> Picture[V]:
        """Return the layers for a size."""
        key = (width, height)
        if key not in self._kept:
            self._kept[key] = self._make(width, height)
            while len(self._kept) > KEPT_SIZES:
                self._kept.popitem(last=False)
        self._kept.move_to_end(key)
        return self._kept[key]

    def paint(self, painter: QPainter, rect: QRectF, view: V) -> None:
        """Draw the view into ``rect`` (logical pixels) of the painter's device."""
        device = painter.device()
        scale = device.devicePixelRatioF() if device is not None else 1.0
        width, height = round(rect.width() * scale), round(rect.height() * scale)
        if width < SMALLEST or height < SMALLEST:
            return
        painter.save()
        painter.setClipRect(rect)
        painter.translate(rect.topLeft())
        painter.scale(1 / scale, 1 / scale)
        self.at(width, height).draw(painter, view)
        painter.restore()


def clear_image(width: int, height: int) -> QImage:
    """Return a transparent image."""
    image = QImage(width, height, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(Qt.GlobalColor.transparent)
    return image
