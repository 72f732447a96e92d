"""What a disturbance leaves in an averaged amplitude, and for how long, from known tails."""

import numpy as np
import pytest

from engine.chunk import Floats
from engine.signal.amplitude import Estimator, analytic_fir
from engine.signal.butterworth import butterworth
from engine.signal.grid import grid_for
from engine.signal.guard import Tail, tail_of
from tests.engine.signals import BANDS, goals, readings

GRID = grid_for(250)
ESTIMATORS: dict[str, Estimator] = {
    "analytic-fir": analytic_fir(GRID, goals()),
    "butterworth": butterworth(GRID, goals()),
}


def averaged(fast: Floats, n: int) -> Floats:
    """Return the mean of the newest ``n`` ticks at each tick, nan before there are n."""
    sums = np.cumsum(np.concatenate([np.zeros((1, *fast.shape[1:])), fast]), axis=0)
    means = np.full(fast.shape, np.nan)
    means[n - 1 :] = (sums[n:] - sums[:-n]) / n
    return means


@pytest.mark.parametrize("n_averaged", [1, 2, 12, 50])
@pytest.mark.parametrize("name", ESTIMATORS)
def test_the_tail_bounds_what_a_streamed_step_leaves_after_averaging(
    name: str, n_averaged: int
) -> None:
    estimator, step_tick = ESTIMATORS[name], 120
    for place in range(GRID.per_tick):
        at = step_tick * GRID.per_tick + place
        stream = np.where(np.arange(2000) < at, 0.0, 100.0)
        read = averaged(readings(estimator, stream), n_averaged)[step_tick:]
        for band in range(len(BANDS)):
            tail = tail_of(estimator, band, n_averaged)
            left = [tail.left(t, 100.0, 10**9, 0.0) for t in range(read.shape[0])]
            assert (read[:, band] <= np.array(left) + 0.01).all()


@pytest.mark.parametrize("n_averaged", [2, 12, 50])
@pytest.mark.parametrize("name", ESTIMATORS)
def test_an_average_that_holds_the_disturbance_itself_is_never_trusted(
    name: str, n_averaged: int
) -> None:
    tail = tail_of(ESTIMATORS[name], 0, n_averaged)
    held = [tail.left(t, 1.0, 10**9, 0.0) for t in range(n_averaged)]
    assert held == [np.inf] * n_averaged
    assert np.isfinite(tail.left(n_averaged, 1.0, 10**9, 0.0))


def test_the_average_of_a_known_tail_is_known(monkeypatch: pytest.MonkeyPatch) -> None:
    staircase = np.array([5.0, 4.0, 3.0, 2.0, 1.0, 0.0])
    estimator = butterworth(GRID, goals(0.3))
    monkeypatch.setattr(type(estimator), "tails", lambda self, band: (staircase, 0 * staircase))
    tail = tail_of(estimator, 0, 3)
    left = [tail.left(t, 2.0, 10**9, 0.0) for t in range(9)]
    assert left == pytest.approx([np.inf, np.inf, np.inf, 6.0, 4.0, 2.0, 2 / 3, 0.0, 0.0])


def test_step_and_noise_add_up_each_by_its_own_age_and_size() -> None:
    tail = Tail(step=np.array([9.0, 4.0, 1.0, 0.0]), noise=np.array([5.0, 3.0, 2.0, 0.0]))
    assert tail.left(1, 10.0, 2, 100.0) == pytest.approx(40.0 + 200.0)
    assert tail.left(10**9, 10.0, 0, 1.0) == pytest.approx(5.0)
    assert tail.left(10**9, 10.0, 10**9, 1.0) == 0.0


@pytest.mark.parametrize("name", ESTIMATORS)
def test_what_a_step_leaves_never_rises_again(name: str) -> None:
    for band in range(len(BANDS)):
        tail = tail_of(ESTIMATORS[name], band, 12)
        assert (np.diff(tail.step[12:]) <= 1e-15).all()
        assert (np.diff(tail.noise[12:]) <= 1e-12).all()
