"""The beads: where each comes to lie in the bowl, and how it sinks there."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from PyQt6.QtCore import QPointF, QRectF
from PyQt6.QtGui import QImage, QPainter

from ui.client.bowl.glass import FLOOR, X, Y, half_width
from ui.client.easing import soft
from ui.client.pixels import step_between, to_image
from ui.client.stage import Stage

SIZE = 0.086
"""Half width of a bead in units of the stage."""
HIGHEST = -0.98
"""How far above the bowl's middle the pile may reach: well below the lowest water."""
N_LAYERS = 3
"""When the pile is full, the next beads lie, smaller, on the first ones."""
COLOURS = (
    (240, 190, 108),
    (150, 196, 170),
    (232, 158, 138),
    (166, 178, 218),
    (244, 224, 184),
    (206, 160, 196),
)


LANES = (-0.95, 1.40, -1.40, 0.95, 1.85, -0.50, 0.50, -1.85)
"""Where on the water beads are dropped, from the middle: beside the boat, one after another."""


@dataclass(frozen=True)
class Bead:
    """Middle and half width in units of the stage; ``hue`` counts the colours.

    It is dropped at ``start`` (units), not where the few before it were: points that come fast
    would flash there.
    """

    x: float
    y: float
    size: float
    hue: int
    start: float


@cache
def beads() -> tuple[Bead, ...]:
    """Return a place for every point of a session, in the order in which they come."""
    pile: list[tuple[float, float]] = []
    row = 0
    while (up := -FLOOR + SIZE + 1.72 * SIZE * row) <= HIGHEST:
        half = min(half_width(up), half_width(up - SIZE)) - 1.1 * SIZE
        n_beads = int(2 * half / (2.06 * SIZE)) + 1
        n_beads -= (n_beads + row) % 2  # each row lies in the gaps of the one below
        spots = [(place - (n_beads - 1) / 2) * 2.06 * SIZE for place in range(n_beads)]
        spots.sort(key=lambda x: abs(x) + 0.9 * _chance(x, row))
        pile += [(x + 0.012 * math.sin(9 * x + row), up) for x in spots]
        row += 1
    return tuple(
        Bead(
            X + x,
            Y - up,
            SIZE * 0.6**layer,
            int(97 * _chance(x, up) + layer) % len(COLOURS),
            X + LANES[(layer * len(pile) + number) % len(LANES)],
        )
        for layer in range(N_LAYERS)
        for number, (x, up) in enumerate(pile)
    )


def draw_bead(painter: QPainter, stage: Stage, bead: Bead) -> None:
    """Draw a bead where it lies."""
    wide = max(bead.size * stage.unit, 0.8)
    middle = stage.at(bead.x, bead.y)
    box = QRectF(middle.x() - wide, middle.y() - wide, 2 * wide, 2 * wide)
    painter.drawImage(box, _ball(*COLOURS[bead.hue]))


def draw_sinking(painter: QPainter, stage: Stage, bead: Bead, share: float, top: float) -> None:
    """Draw a bead on its way from the surface (``top`` units down) to its place."""
    way = soft(share)
    sway = 0.12 * math.sin(2 * math.pi * way) * (1 - way)
    x = bead.start + (bead.x - bead.start) * soft(way) + sway
    large = 1.0 + 0.9 * (1 - way)
    painter.setOpacity(min(share * 4, 0.85))
    moving = Bead(x, top + (bead.y - top) * way, bead.size * large, bead.hue, x)
    draw_bead(painter, stage, moving)
    painter.setOpacity(1.0)


def draw_ripple(painter: QPainter, middle: QPointF, wide: float, share: float) -> None:
    """Draw the ring that a bead leaves on the water, growing and fading."""
    reach = wide * (0.25 + 0.75 * soft(share))
    painter.setOpacity(0.5 * (1 - share) ** 1.5)
    painter.drawEllipse(middle, reach, reach * 0.12)
    painter.setOpacity(1.0)


def _chance(x: float, row: float) -> float:
    value = math.sin(12.9898 * x + 78.233 * row) * 43758.5453
    return value - math.floor(value)


@cache
def _ball(red: int, green: int, blue: int) -> QImage:
    side = np.linspace(-1, 1, 48, dtype=np.float32)
    down, across = side[:, None], side[None, :]
    far = np.sqrt(down**2 + across**2)
    lit = 1 - np.sqrt((down + 0.42) ** 2 + (across + 0.36) ** 2) / 1.9
    shade = 0.52 + 0.62 * np.clip(lit, 0, 1)
    colours = np.array((red, green, blue), np.float32) * shade[..., None]
    gleam = 1 - step_between(np.hypot(down + 0.42, across + 0.36).astype(np.float32), 0.10, 0.30)
    colours += gleam[..., None] * 60
    alpha = 1 - step_between(far.astype(np.float32), 0.88, 1.0)
    return to_image(np.clip(colours, 0, 255).astype(np.float32), alpha)
