"""The stone: dots on rings, each with a place of its own."""

import math

import numpy as np

from tests.ui.client.drawing import frame, later
from ui.client.moment import STILL_WARMTH
from ui.client.stage import HEIGHT
from ui.client.still.dots import N_LAYERS, dots
from ui.client.still.picture import LARGE, MIDDLE_Y

N_PLACES = len(dots()) // N_LAYERS


def test_no_dot_touches_another_or_the_stone_and_all_are_in_the_picture() -> None:
    rings = dots()[:N_PLACES]
    places = np.array([(dot.x, dot.y) for dot in rings])
    apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    np.fill_diagonal(apart, 9.0)
    assert apart.min() > 2.2 * max(dot.size for dot in rings)
    assert min(math.hypot(dot.x, dot.y) for dot in rings) > LARGE + 0.2
    assert max(dot.y for dot in rings) + MIDDLE_Y < 0.92 * HEIGHT


def test_the_dots_can_be_counted_by_tens() -> None:
    large = [n for n, dot in enumerate(dots()[:100], 1) if dot.size > 0.05]
    assert large == list(range(10, 101, 10))


def test_a_dot_follows_the_one_before_it_clockwise_from_the_top() -> None:
    first, second, quarter = dots()[0], dots()[1], dots()[15]
    assert first.x == 0 and first.y < 0
    assert second.x > 0 and second.y < 0
    assert quarter.x > 2 and abs(quarter.y) < 1e-9


def test_there_is_a_place_for_every_point_of_a_long_session() -> None:
    assert N_PLACES > 500 and len(dots()) > 1500


def test_everything_is_slower_than_elsewhere() -> None:
    near = later("still", 0.5, frame(progress=1.0, closeness=1.0))
    shore = later("shore", 0.5, frame(progress=1.0, closeness=1.0))
    assert near.level < 0.7 * shore.level
    assert near.warmth - STILL_WARMTH < 0.5 * (shore.warmth - STILL_WARMTH)
