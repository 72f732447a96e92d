"""The far shore: where its houses stand and in which order their lights come on.

Pure layout, drawn from a fixed seed so that every session meets the same village. The picture
is 16 units wide; ``x`` runs from its left edge, ``y`` upwards from the water of the far shore.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from functools import cache

WIDTH = 16.0
SKY = 4.3
"""Height of the sky above the far shore, in units, in a 16:9 picture."""
N_STARS = 900


@dataclass(frozen=True)
class Slope:
    """The hillside a settlement stands on, climbed in ``rows`` terraces."""

    centre: float
    spread: float
    rise: float
    rows: int

    def ground(self, x: float, depth: float) -> float:
        """Return the height of the terrace at ``depth`` (0 at the water, 1 at the back)."""
        share = min(max((x - self.centre) / self.spread, -1.0), 1.0)
        return 0.08 + self.rise * depth * 0.5 * (1.0 + math.cos(math.pi * share * 0.92))


VILLAGE = Slope(centre=7.2, spread=3.7, rise=1.25, rows=6)
EAST = Slope(centre=12.9, spread=1.9, rise=0.42, rows=3)
WEST = Slope(centre=2.2, spread=1.5, rise=0.34, rows=3)


@dataclass(frozen=True)
class House:
    """A house; ``depth`` is 0 at the water, 1 at the back. ``gable`` faces us or runs along."""

    x: float
    y: float
    width: float
    height: float
    roof: float
    depth: float
    gable: bool = False
    chimney: bool = False

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def top(self) -> float:
        return self.y + self.height + self.roof


@dataclass(frozen=True)
class Tree:
    x: float
    y: float
    size: float
    slim: bool
    depth: float


@dataclass(frozen=True)
class Light:
    """``kind`` is ``window``, ``lamp`` or ``star``; ``hue`` 0-1 runs from amber to pale."""

    x: float
    y: float
    width: float
    height: float
    kind: str
    hue: float


@dataclass(frozen=True)
class Settlement:
    """Houses and trees, the farthest first."""

    slope: Slope
    houses: tuple[House, ...]
    trees: tuple[Tree, ...]


@dataclass(frozen=True)
class FarShore:
    """The settlements, and all lights in the order in which they come on."""

    settlements: tuple[Settlement, ...]
    lights: tuple[Light, ...]


@cache
def far_shore() -> FarShore:
    """Return the village, its two hamlets, the lamps along the water and, at last, the stars."""
    rng = random.Random(1207)
    places = [_settlement(rng, slope) for slope in (VILLAGE, EAST, WEST)]
    windows = [_windows(rng, place) for place in places]
    for group, heart in zip(windows, (7.0, 12.7, 2.4), strict=True):
        _order(rng, group, heart)
    shining = [light for group in windows for light in group]
    quay = _lamps(rng, 4.8, 9.9, 11, 0.20, shining)
    road = _lamps(rng, 10.4, 15.7, 15, 0.12, shining) + _lamps(rng, 0.2, 4.4, 12, 0.12, shining)
    rng.shuffle(quay)
    village, east, west = windows
    lights = village[:70] + quay + village[70:] + east + west + road + _stars(rng)
    return FarShore(tuple(places), tuple(lights))


def _order(rng: random.Random, group: list[Light], heart: float) -> None:
    """Sort the windows of a settlement: here and there around its heart, the edges last."""
    chances = {id(light): rng.random() for light in group}
    group.sort(key=lambda light: max(abs(light.x - heart) - 0.9, 0.0) + 1.6 * chances[id(light)])


def _settlement(rng: random.Random, slope: Slope) -> Settlement:
    houses: list[House] = []
    trees: list[Tree] = []
    for row in reversed(range(slope.rows)):
        depth = row / (slope.rows - 1)
        small = 1.0 - 0.25 * depth
        reach = slope.spread * (0.86 - 0.5 * depth)
        x = slope.centre - reach + rng.uniform(-0.15, 0.15)
        while x < slope.centre + reach:
            if rng.random() < 0.26:
                gap = rng.uniform(0.12, 0.34)
                size = rng.uniform(0.07, 0.13) * small
                ground = slope.ground(x + gap / 2, depth)
                trees.append(Tree(x + gap / 2, ground, size, rng.random() < 0.3, depth))
                x += gap
                continue
            gable = rng.random() < 0.35
            width = rng.uniform(0.17, 0.23) if gable else rng.uniform(0.22, 0.36)
            tall = rng.uniform(0.15, 0.21) + (0.07 if rng.random() < 0.4 else 0.0)
            houses.append(
                House(
                    x=x,
                    y=slope.ground(x + width * small / 2, depth),
                    width=width * small,
                    height=tall * small,
                    roof=rng.uniform(0.09, 0.13) * small,
                    depth=depth,
                    gable=gable,
                    chimney=rng.random() < 0.45,
                )
            )
            x += width * small + rng.choice((0.0, 0.015, 0.03, 0.07))
    return Settlement(slope, tuple(houses), tuple(trees))


def _windows(rng: random.Random, place: Settlement) -> list[Light]:
    """Windows of a settlement, but those that a house in front would cover."""
    lights: list[Light] = []
    for house in place.houses:
        small = 1 - 0.2 * house.depth
        width, height = 0.046 * small, 0.062 * small
        columns = 1 if house.width < 0.17 else 2 if house.width < 0.29 else 3
        floors = 2 if house.height > 0.2 * small else 1
        for floor in range(floors):
            for column in range(columns):
                if rng.random() < 0.14:
                    continue
                x = house.x + house.width * (column + 1) / (columns + 1) - width / 2
                y = house.y + house.height * (0.70 - 0.46 * floor) - height / 2
                light = Light(x, y, width, height, "window", rng.random())
                if not _covered(light, house, place):
                    lights.append(light)
    return lights


def _covered(light: Light, own: House, place: Settlement) -> bool:
    for house in place.houses:
        beside = light.x + light.width < house.x - 0.02 or light.x > house.right + 0.02
        if house.depth < own.depth and not beside and light.y < house.top:
            return True
    return False


def _lamps(
    rng: random.Random, first: float, last: float, count: int, height: float, beside: list[Light]
) -> list[Light]:
    """Return lamps in a row, each moved on until it stands beside every window."""
    lamps: list[Light] = []
    for number in range(count):
        x = first + (last - first) * number / (count - 1) + rng.uniform(-0.06, 0.06)
        while any(_near(x, height, light) for light in beside):
            x += 0.01
        lamps.append(Light(x, height, 0.042, 0.042, "lamp", 0.6))
    return lamps


def _near(x: float, y: float, light: Light) -> bool:
    across = light.x - 0.06 < x < light.x + light.width + 0.02
    return across and light.y - 0.06 < y < light.y + light.height + 0.02


def _stars(rng: random.Random) -> list[Light]:
    stars: list[Light] = []
    for _ in range(N_STARS):
        height = 1.9 + (SKY - 1.9) * rng.random() ** 0.7
        size = 0.012 + 0.014 * rng.random() ** 3
        stars.append(Light(rng.uniform(0.1, 15.9), height, size, size, "star", rng.random()))
    return stars
