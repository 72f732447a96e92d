"""The estuary: a still mirror image of the land, moved in strips, with glints on it."""

from __future__ import annotations

import math
from functools import cache, lru_cache

import numpy as np
from PyQt6.QtCore import QRectF
from PyQt6.QtGui import QImage, QPainter

from ui.client.pixels import Pixels, noise, to_image, to_pixels
from ui.client.shore.frame import WATER_END, Frame

DEEP_WARM, DEEP_COOL = (38, 42, 78), (34, 46, 66)
N_GLINTS = 46


def margin(frame: Frame) -> int:
    """Return how many pixels the mirror image reaches past either side."""
    return max(2, math.ceil(0.008 * frame.width))


def paint_mirror(frame: Frame, land: QImage, warm: bool) -> QImage:
    """Return the water below the far shore, from the picture of the land above it."""
    rows = round(frame.height * WATER_END) - frame.horizon
    above = to_pixels(land)[::-1]
    depth = np.linspace(0, 1, rows, dtype=np.float32)
    source = np.minimum(np.arange(rows), above.shape[0] - 1)
    mirror = _smeared(above, source, 1 + depth * 0.035 * frame.height)
    mirror = np.pad(mirror, ((0, 0), (margin(frame), margin(frame)), (0, 0)), mode="edge")
    share = (0.84 - 0.42 * depth**0.8)[:, None, None]
    deep = np.array(DEEP_WARM if warm else DEEP_COOL, np.float32)
    water = mirror * share + deep * (1 - share)
    water *= 1 + _ripples(rows, mirror.shape[1])[..., None]
    return to_image(water.astype(np.float32))


def _smeared(above: Pixels, source: Pixels, lengths: Pixels) -> Pixels:
    """Average ``lengths`` rows around each source row: water draws reflections out."""
    sums = np.concatenate([np.zeros((1, *above.shape[1:])), np.cumsum(above, 0, np.float64)])
    first = np.clip(source - lengths / 2, 0, above.shape[0] - 2).astype(int)
    last = np.clip(source + lengths / 2 + 1, first + 1, above.shape[0]).astype(int)
    smeared: Pixels = ((sums[last] - sums[first]) / (last - first)[:, None, None]).astype(
        np.float32
    )
    return smeared


@lru_cache(maxsize=1)
def _ripples(rows: int, width: int) -> Pixels:
    """Return bright and dark ripples, wider and longer the nearer they are."""
    depth = np.linspace(0, 1, rows, dtype=np.float32)
    far = noise(31, 420, width, 120, 26, 2)
    near = noise(37, 420, width, 60, 9, 2)
    lines = (419 * (1 - (1 - depth) ** 2.2)).astype(int)
    strength = (0.05 + 0.22 * depth)[:, None]
    mixture = far[lines] * (1 - depth)[:, None] + near[lines] * depth[:, None]
    ripples: Pixels = (mixture - 0.5) * strength * 2
    return ripples


def draw_water(painter: QPainter, frame: Frame, mirror: QImage, time_s: float, end: int) -> None:
    """Draw the mirror image down to row ``end``, strip by strip, each gently displaced."""
    side, rows = margin(frame), mirror.height()
    row = 0
    last = min(rows, end - frame.horizon)
    while row < last:
        depth = row / rows
        tall = max(1, round((0.0022 + 0.008 * depth) * frame.height))
        tall = min(tall, last - row)
        wave = math.sin(row * 0.9 / (0.35 + depth) / frame.height * 160 - 1.1 * time_s)
        wave += 0.6 * math.sin(row * 37.0 / frame.height + 0.7 * time_s)
        shift = round(wave * (0.0003 + 0.0034 * depth) * frame.width * 0.62)
        shift = min(max(shift, -side), side)
        painter.drawImage(0, frame.horizon + row, mirror, side + shift, row, frame.width, tall)
        row += tall


def draw_glints(painter: QPainter, frame: Frame, time_s: float, warmth: float, end: int) -> None:
    """Draw short gleams that come and go on the water, a few seconds each."""
    gleam = _gleam(
        *(round(150 + 12.5 * round(warmth * 8)), round(160 + 5.5 * round(warmth * 8)), 172)
    )
    for number in range(N_GLINTS):
        life_s = 3.5 + 2.5 * _chance(number, 0)
        turn, share = divmod(time_s / life_s + _chance(number, 1), 1.0)
        seed = number + 97 * int(turn)
        depth = 0.04 + 0.96 * _chance(seed, 2) ** 1.4
        y = frame.horizon + depth * (frame.height * WATER_END - frame.horizon)
        if y + 3 > end:
            continue
        long = (0.006 + 0.030 * depth) * frame.width * (0.5 + _chance(seed, 3))
        middle = 0.70 + (_chance(seed, 4) - 0.5) * (0.5 + 0.6 * depth)
        painter.setOpacity(0.26 * math.sin(math.pi * share) ** 2 * (0.5 + 0.5 * warmth))
        thick = max(1.0, (0.0010 + 0.0026 * depth) * frame.height)
        left = middle * frame.width - long / 2
        painter.drawImage(QRectF(left, y, long, thick), gleam)
    painter.setOpacity(1.0)


@cache
def _gleam(red: int, green: int, blue: int) -> QImage:
    """Return a gleam, bright in its middle."""
    across = np.linspace(-1, 1, 64, dtype=np.float32)[None, :]
    down = np.linspace(-1, 1, 5, dtype=np.float32)[:, None]
    alpha = (1 - across**2) ** 2 * (1 - 0.8 * down**2)
    return to_image(np.full((5, 64, 3), (red, green, blue), np.float32), alpha)


def _chance(number: int, salt: int) -> float:
    """Return a fixed fraction for a number: no random state to carry from frame to frame."""
    value = math.sin(number * 12.9898 + salt * 78.233) * 43758.5453
    return value - math.floor(value)
