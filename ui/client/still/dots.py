"""Where the dots lie: ring after ring around the stone, clockwise from the top."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

FIRST_RING, RING_APART = 2.46, 0.23
"""Radius of the innermost ring and the way to the next, in units of the stage (16 by 9)."""
N_RINGS, N_FIRST, N_MORE = 7, 60, 5
"""Dots of the innermost ring, and how many more each next one holds."""
N_LAYERS = 3
"""When every place is taken, the next dots lie on the first ones."""
SIZE, TENTH_SIZE = 0.042, 0.066
"""Half width of a dot, and of every tenth one, so that they can be counted."""


@dataclass(frozen=True)
class Dot:
    """Middle, from the stone's middle, and half width, in units; ``layer`` from 0."""

    x: float
    y: float
    size: float
    layer: int


@cache
def dots() -> tuple[Dot, ...]:
    """Return a place for every point of a session, in order."""
    places: list[Dot] = []
    for layer in range(N_LAYERS):
        number = 0
        for ring in range(N_RINGS):
            radius, n_dots = FIRST_RING + RING_APART * ring, N_FIRST + N_MORE * ring
            for place in range(n_dots):
                number += 1
                angle = 2 * math.pi * place / n_dots
                size = TENTH_SIZE if number % 10 == 0 else SIZE
                x, y = radius * math.sin(angle), -radius * math.cos(angle)
                places.append(Dot(x, y, size * 0.55**layer, layer))
    return tuple(places)
