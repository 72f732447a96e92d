"""A stage of 16 by 9 units in the middle of a picture of any shape, in device pixels."""

from __future__ import annotations

from dataclasses import dataclass

from PyQt6.QtCore import QPointF, QRectF

WIDTH, HEIGHT = 16.0, 9.0


@dataclass(frozen=True)
class Stage:
    """What is drawn for 16 by 9 units fits into ``width`` by ``height`` pixels.

    Where the picture is taller or wider, the ground of the scene goes on past the stage.
    """

    width: int
    height: int

    @property
    def unit(self) -> float:
        """Pixels of one unit."""
        return min(self.width / WIDTH, self.height / HEIGHT)

    @property
    def left(self) -> float:
        return (self.width - WIDTH * self.unit) / 2

    @property
    def top(self) -> float:
        return (self.height - HEIGHT * self.unit) / 2

    def at(self, x: float, y: float) -> QPointF:
        """Return a point of the stage in pixels."""
        return QPointF(self.left + x * self.unit, self.top + y * self.unit)

    def rect(self, x: float, y: float, width: float, height: float) -> QRectF:
        """Return a rectangle of the stage in pixels."""
        corner = self.at(x, y)
        return QRectF(corner.x(), corner.y(), width * self.unit, height * self.unit)
