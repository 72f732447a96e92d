"""The last picture of a scene that was left: it fades over the next one, so that nothing jumps."""

from __future__ import annotations

from PyQt6.QtCore import QRectF, QSize
from PyQt6.QtGui import QImage, QPainter

from ui.client.easing import ramp, soft
from ui.client.moment import Moment
from ui.client.scenes import Scene

FADE_S = 1.5


class Farewell:
    """Keeps one picture for `FADE_S`; without one it draws nothing."""

    def __init__(self) -> None:
        self._image: QImage | None = None
        self._strength = 0.0

    @property
    def strength(self) -> float:
        """How much of the old scene is still seen, 0-1."""
        return soft(self._strength)

    def take(self, scene: Scene, view: Moment, size: QSize, scale: float) -> None:
        """Keep what ``scene`` shows now at ``size`` (logical pixels, ``scale`` times as fine)."""
        if size.isEmpty():
            return
        image = QImage(size * scale, QImage.Format.Format_RGB32)
        image.setDevicePixelRatio(scale)
        painter = QPainter(image)
        scene.paint(painter, QRectF(0, 0, size.width(), size.height()), view)
        if self._image is not None:
            self.paint(painter, QRectF(0, 0, size.width(), size.height()))
        painter.end()
        self._image, self._strength = image, 1.0

    def passed(self, dt_s: float) -> None:
        """Let ``dt_s`` pass."""
        if self._image is not None:
            self._strength = ramp(self._strength, 0.0, dt_s, FADE_S)
            if self._strength == 0.0:
                self._image = None

    def paint(self, painter: QPainter, rect: QRectF) -> None:
        """Draw what is left of it over ``rect``."""
        if self._image is not None:
            painter.setOpacity(self.strength)
            painter.drawImage(rect, self._image)
            painter.setOpacity(1.0)
