"""The bowl: beads that lie in it, fish that come with every tenth, a flower that opens."""

import math
from itertools import pairwise

import numpy as np
import pytest

from engine.session.messages import ClientFrame
from tests.ui.client.drawing import frame, picture
from ui.client.bowl import glass
from ui.client.bowl.beads import N_LAYERS, beads
from ui.client.bowl.fish import EVERY, FISH, Fish, fish_there
from ui.client.bowl.view import BowlView, step_bowl

PILE = len(beads()) // N_LAYERS


def after(seconds: float, told: ClientFrame, view: BowlView | None = None) -> BowlView:
    """Return the view when ``told`` has stood for so long."""
    view = view or BowlView()
    for _ in range(round(30 * seconds)):
        view = step_bowl(view, told, 1 / 30)
    return view


def test_beads_lie_inside_the_glass_below_the_lowest_water_and_none_in_another() -> None:
    pile = beads()[:PILE]
    for bead in pile:
        assert math.hypot(bead.x - glass.X, bead.y - glass.Y) + bead.size < glass.RADIUS
        assert bead.y - bead.size > glass.Y - glass.water_line(0.0)
    places = np.array([(bead.x, bead.y) for bead in pile])
    apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    np.fill_diagonal(apart, 9.0)
    assert apart.min() > 1.7 * pile[0].size


def test_the_pile_grows_from_the_floor_and_holds_a_usual_session() -> None:
    rows = [bead.y for bead in beads()[:PILE]]
    assert all(later <= earlier for earlier, later in pairwise(rows))
    assert PILE > 200 and len(beads()) > 600


def test_two_beads_running_never_sink_on_one_path() -> None:
    starts = [bead.start for bead in beads()[:200]]
    for near in range(1, 6):
        assert all(abs(a - b) > 0.3 for a, b in zip(starts, starts[near:], strict=False))


def test_every_tenth_point_brings_a_fish_until_all_are_there() -> None:
    counts = [len(fish_there(points, ())) for points in (0, 9, 10, 19, 20, 109, 110, 500)]
    assert counts == [1, 1, 2, 2, 3, 11, 12, 12] and len(FISH) == 12


def test_a_fish_comes_as_its_bead_sinks_whatever_else_is_sinking() -> None:
    assert fish_there(9, (0.4,))[-1] == (FISH[1], 0.4)
    assert fish_there(8, (0.9, 0.4))[-1] == (FISH[1], 0.4)
    assert fish_there(8, (0.9,)) == [(FISH[0], 1.0)]
    assert fish_there(8, (0.9, 0.4, 0.1))[-1] == (FISH[1], 0.4)


@pytest.mark.parametrize("fish", FISH)
def test_every_fish_is_at_home_in_the_water(fish: Fish) -> None:
    assert math.hypot(abs(fish.x) + fish.size, fish.y) < glass.INSIDE
    assert -fish.y < glass.water_line(0.0)


def test_a_fish_that_came_stays_while_points_go_on() -> None:
    view, n_last = after(1.0, frame(points=0)), 0
    for points in range(1, 3 * EVERY):
        view = after(1.6, frame(points=points), view)
        shares = [share for _, share in fish_there(view.lit, view.kindling)]
        assert len(shares) >= n_last and all(share == 1.0 for share in shares[: n_last - 1])
        n_last = len(shares)
    assert n_last == 3


def test_the_flower_opens_and_closes_slowly_and_never_trembles() -> None:
    open_, shut = after(8.0, frame(closeness=1.0)), after(8.0, frame(closeness=0.0))
    assert open_.bloom > 0.97 and shut.bloom < 0.03
    view, seen = open_, []
    for n in range(240):
        view = step_bowl(view, frame(closeness=float(n // 4 % 2)), 1 / 30)
        seen.append(view.bloom)
    assert max(abs(b - a) for a, b in pairwise(seen)) < 0.05
    assert max(seen[180:]) - min(seen[180:]) < 0.05


def test_the_flower_is_wider_when_it_is_open() -> None:
    wide = [_width_of_the_flower(bloom) for bloom in (0.0, 0.5, 1.0)]
    assert wide[0] < 0.75 * wide[1] and wide[1] < wide[2] * 1.2
    assert wide[2] > 1.6 * wide[0]


def test_the_fish_sleep_in_a_rest() -> None:
    awake, asleep = (
        picture(BowlView(phase="rest", lit=120, night=night), 640, 360, "bowl")
        for night in (0.50, 0.51)
    )
    change = np.abs(awake.astype(int) - asleep)
    assert (change.max(axis=2) > 40).sum() > 10  # their eyes, and little else
    assert (change.max(axis=2) > 40).mean() < 0.01


def _width_of_the_flower(bloom: float) -> int:
    size = (640, 360)
    shown = picture(BowlView(bloom=bloom), *size, "bowl").astype(int)
    pale = (shown[..., 0] > 215) & (shown[..., 2] > 140)  # petals, on a wall that is darker
    columns = np.flatnonzero(pale[100:200, 440:570].any(axis=0))
    return int(columns.max() - columns.min())
