"""One light on the far shore: its window, the halo around it, its streak on the water."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from PyQt6.QtCore import QRectF
from PyQt6.QtGui import QColor, QImage, QPainter

from ui.client.pixels import to_image
from ui.client.shore.frame import Frame
from ui.client.shore.lights import Light
from ui.client.shore.water import margin

AMBER, PALE = (255, 196, 104), (255, 232, 190)
STAR = (232, 234, 255)
HALO, STREAK = 5.5, 26.0
"""Sizes of halo and streak, in heights of the light."""


def colour_of(light: Light) -> tuple[int, int, int]:
    """Return red, green, blue of a light; amber to pale, never red."""
    if light.kind == "star":
        return STAR
    red, green, blue = (
        round(low + (high - low) * light.hue) for low, high in zip(AMBER, PALE, strict=True)
    )
    return red, green, blue


def draw_light(painter: QPainter, frame: Frame, light: Light, share: float) -> None:
    """Draw a light of the land, ``share`` (0-1) of its full brightness."""
    left, top, width, height = frame.light_box(light)
    box = QRectF(left, top, width, height)
    red, green, blue = colour_of(light)
    size = height * (HALO if light.kind != "lamp" else 7.5)
    if light.kind == "star":
        size = height * 3.0
    middle = box.center()
    painter.setOpacity(share * (0.34 if light.kind == "window" else 0.55))
    halo = QRectF(middle.x() - size / 2, middle.y() - size / 2, size, size)
    painter.drawImage(halo, _halo(red, green, blue))
    painter.setOpacity(share * (_star_strength(frame, light) if light.kind == "star" else 1.0))
    painter.fillRect(box, QColor(red, green, blue))
    if light.kind == "window" and height >= 5:
        _draw_bars(painter, box)
    painter.setOpacity(1.0)


def _star_strength(frame: Frame, light: Light) -> float:
    """Return how bright a star is; one that would be thinner than a pixel is fainter instead."""
    thin = math.sqrt(min(light.width * frame.up, 1.0))
    return (0.45 + 0.55 * light.hue) * thin


def _draw_bars(painter: QPainter, box: QRectF) -> None:
    """Draw the thin cross of a window frame."""
    bar = QColor(96, 66, 52, 150)
    thick = max(0.7, box.height() * 0.09)
    middle = box.center()
    painter.fillRect(QRectF(middle.x() - thick / 2, box.top(), thick, box.height()), bar)
    painter.fillRect(QRectF(box.left(), middle.y() - thick, box.width(), thick), bar)


def draw_streak(painter: QPainter, frame: Frame, light: Light, share: float) -> None:
    """Draw a light's streak into the mirror image (origin: far shore, left of its margin)."""
    if light.kind == "star":
        return
    left, top, width, height = frame.light_box(light)
    red, green, blue = colour_of(light)
    start = frame.horizon - top - height
    long = height * STREAK * (0.6 + 0.8 * light.hue)
    wide = max(width * 1.5, 1.0)
    painter.setOpacity(share * 0.40)
    middle = left + width / 2 + margin(frame)
    box = QRectF(middle - wide / 2, start * 0.55, wide, long)
    painter.drawImage(box, _streak(red, green, blue))
    painter.setOpacity(1.0)


@cache
def _halo(red: int, green: int, blue: int) -> QImage:
    side = np.linspace(-1, 1, 48, dtype=np.float32)
    far = np.sqrt(side[:, None] ** 2 + side[None, :] ** 2)
    alpha = np.clip(1 - far, 0, 1) ** 2.2
    return to_image(np.full((48, 48, 3), (red, green, blue), np.float32), alpha)


@cache
def _streak(red: int, green: int, blue: int) -> QImage:
    down = np.linspace(0, 1, 96, dtype=np.float32)[:, None]
    across = np.linspace(-1, 1, 16, dtype=np.float32)[None, :]
    rise = np.clip(down / 0.10, 0, 1)
    broken = 0.72 + 0.28 * np.sin(down * 46.0 + 6 * math.pi * down**2)
    alpha = rise * (1 - down) ** 1.6 * broken * np.clip(1 - np.abs(across), 0, 1) ** 0.8
    return to_image(np.full((96, 16, 3), (red, green, blue), np.float32), alpha.astype(np.float32))
