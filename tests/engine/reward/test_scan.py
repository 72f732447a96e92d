"""The scan gives the points of the criterion itself, for one setting and for a grid of two."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from engine.reward.criterion import CriterionState, Times, step
from engine.reward.scan import count_grid, last_unmet, met_at, points_of

times = st.builds(Times, st.integers(1, 12), st.integers(0, 15))


def by_the_machine(met: np.ndarray, n: Times) -> list[int]:
    state, found = CriterionState(), []
    for tick, now in enumerate(met):
        state, verdict = step(state, n, running=True, obscured=False, met=bool(now))
        if verdict.point:
            found.append(tick)
    return found


def courses(seed: int, n_ticks: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Two amplitudes that wander, and the ticks that are clear."""
    rng = np.random.default_rng(seed)
    walks = np.abs(np.cumsum(rng.normal(size=(2, n_ticks)), axis=1)) % 7
    return walks[0], walks[1], rng.random(n_ticks) < 0.97


@given(st.lists(st.booleans(), max_size=300), times)
def test_points_fall_where_the_criterion_gives_them(met: list[bool], n: Times) -> None:
    array = np.array(met, dtype=bool)
    assert points_of(array, n).tolist() == by_the_machine(array, n)


@given(st.integers(0, 2**32 - 1), st.integers(0, 400), times)
def test_every_cell_of_a_grid_equals_the_criterion(seed: int, n_ticks: int, n: Times) -> None:
    first, second, clear = courses(seed, n_ticks)
    lower, upper = np.linspace(0, 7, 5), np.linspace(0, 7, 6)
    counts = count_grid(met_at(first, lower, False), met_at(second, upper, True), clear, n)
    for i, below in enumerate(lower):
        for j, above in enumerate(upper):
            met = (first <= below) & (second >= above) & clear
            assert counts[i, j] == len(by_the_machine(met, n))


def test_an_amplitude_at_its_threshold_counts_as_met() -> None:
    for above in (True, False):
        assert met_at(np.array([3.0]), np.array([3.0]), above).all()


def test_an_amplitude_that_is_not_known_meets_nothing() -> None:
    for above in (True, False):
        assert not met_at(np.array([np.nan]), np.array([3.0]), above).any()


def test_the_last_unmet_tick_is_known_at_every_tick() -> None:
    met = np.array([True, False, True, True, False])
    assert last_unmet(met).tolist() == [-1, 1, 1, 1, 4]


def test_a_window_shorter_than_the_hold_has_no_point() -> None:
    yes = np.ones((3, 4), dtype=bool)
    assert not count_grid(yes, yes, np.ones(4, dtype=bool), Times(5, 0)).any()
