"""Fog over the water: it drifts in softly while the signal is hidden."""

from __future__ import annotations

import numpy as np
from PyQt6.QtGui import QImage, QPainter

from ui.client.pixels import noise, to_image
from ui.client.shore.frame import Frame

FOG_TOP, FOG_END = 0.30, 0.84
DRIFT = 0.011
"""Widths a second."""
COLOUR = (132, 140, 162)


def paint_fog(frame: Frame) -> QImage:
    """Return a bank of fog that joins its own left edge at its right."""
    rows = round(frame.height * (FOG_END - FOG_TOP))
    down = np.linspace(0, 1, rows, dtype=np.float32)[:, None]
    banks = noise(61, rows, frame.width, 7, 5, 4, joins=True)
    edges = np.clip(np.minimum(down / 0.35, (1 - down) / 0.30), 0, 1)
    alpha = edges * edges * (3 - 2 * edges) * np.clip(0.50 + 0.9 * (banks - 0.45), 0, 0.85)
    colours = np.full((rows, frame.width, 3), COLOUR, np.float32)
    return to_image(colours, alpha.astype(np.float32))


def draw_fog(painter: QPainter, frame: Frame, fog: QImage, strength: float, time_s: float) -> None:
    """Draw the fog bank at ``strength`` (0-1), where its drift has brought it."""
    shift = round(time_s * DRIFT * frame.width) % frame.width
    top = round(frame.height * FOG_TOP)
    painter.setOpacity(strength)
    painter.drawImage(shift, top, fog)
    painter.drawImage(shift - frame.width, top, fog)
    painter.setOpacity(1.0)
