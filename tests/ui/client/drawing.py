"""Real pictures of the scenes for the tests, and what was written into them."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from PyQt6.QtCore import QRectF
from PyQt6.QtGui import QImage, QPainter

from engine.session.messages import ClientFrame
from ui.client.moment import Moment
from ui.client.scenes import SCENES
from ui.client.shore import ShoreView, step_shore

Picture = NDArray[np.uint8]
"""(height, width, 3): red, green, blue."""


class WritingPainter(QPainter):
    """Draws as any painter, and keeps the words it was given."""

    def __init__(self, image: QImage) -> None:
        super().__init__(image)
        self.written: list[str] = []

    def drawText(self, *arguments: Any) -> Any:  # noqa: N802
        self.written += [part for part in arguments if isinstance(part, str)]
        return super().drawText(*arguments)


def draw(
    view: Moment, width: int = 320, height: int = 180, scene: str = "shore"
) -> tuple[Picture, list[str]]:
    """Return the picture of a view, and every text in it."""
    image = QImage(width, height, QImage.Format.Format_RGB32)
    painter = WritingPainter(image)
    SCENES[scene].paint(painter, QRectF(0, 0, width, height), view)
    painter.end()
    bits = image.constBits()
    assert bits is not None
    lines = np.frombuffer(bits.asstring(image.sizeInBytes()), np.uint8)
    lines = lines.reshape(height, image.bytesPerLine())[:, : 4 * width]
    return lines.reshape(height, width, 4)[..., 2::-1].copy(), painter.written


def picture(view: Moment, width: int = 320, height: int = 180, scene: str = "shore") -> Picture:
    """Return the picture of a view alone."""
    return draw(view, width, height, scene)[0]


def frame(
    progress: float = 0.0,
    closeness: float = 0.5,
    clear: bool = True,
    points: int = 0,
    phase: str = "training",
    prompt: str = "",
) -> ClientFrame:
    """Return a client frame, of a round in which nothing happens unless told."""
    return ClientFrame(progress, closeness, clear, points, phase, prompt)


def after(
    seconds: float,
    what: ClientFrame,
    view: ShoreView | None = None,
    closeness: bool = True,
    frames_per_second: int = 30,
) -> ShoreView:
    """Return the view when ``what`` has stood for so long."""
    view = view if view is not None else ShoreView()
    for _ in range(round(seconds * frames_per_second)):
        view = step_shore(view, what, 1 / frames_per_second, closeness)
    return view


def later(
    scene: str,
    seconds: float,
    what: ClientFrame,
    view: Moment | None = None,
    closeness: bool = True,
) -> Moment:
    """Return the view of any scene when ``what`` has stood for so long."""
    now: Moment = view if view is not None else SCENES[scene].first()
    for _ in range(round(seconds * 30)):
        now = SCENES[scene].step(now, what, 1 / 30, closeness)
    return now


def contrast(lettered: Picture, bare: Picture) -> float:
    """WCAG 2.x contrast ratio between the letters and what lies around them, at its least.

    Light letters are held against the brightest ground in their box, dark ones the darkest.
    """
    rows, columns = np.nonzero((lettered != bare).any(axis=2))
    box = (slice(rows.min(), rows.max() + 1), slice(columns.min(), columns.max() + 1))
    letters, ground = luminance(lettered[box]), luminance(bare[box])
    light = (letters.max() + 0.05) / (ground.max() + 0.05)
    dark = (ground.min() + 0.05) / (letters.min() + 0.05)
    return float(max(light, dark))


def luminance(pixels: NDArray[Any]) -> NDArray[np.float64]:
    """Relative luminance, 0-1, as WCAG 2.x defines it (sRGB linearised, Rec. 709 weights)."""
    share = pixels.astype(np.float64) / 255
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    weighted: NDArray[np.float64] = linear @ np.array([0.2126, 0.7152, 0.0722])
    return weighted
