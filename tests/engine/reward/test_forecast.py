"""A forecast is the criterion at other settings, with an interval that says how sure it is."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.reward.criterion import CriterionState, Times, step
from engine.reward.forecast import HORIZON_S, Forecaster
from engine.reward.recent import Window
from engine.settings import Settings
from tests.engine.reward.windows import ABOVE, GRID, always_met, settings, wandering


def rate_by_the_machine(window: Window, s: Settings) -> float:
    n = Times(GRID.hold_ticks(s.hold_s), GRID.ticks(s.quiet_s))
    counts = [GRID.averaged_ticks(a) for a in s.averaging_s]
    state, points = CriterionState(), 0
    for tick in range(window.clear.shape[0]):
        means = [
            window.fast_uv[tick - k + 1 : tick + 1, i].mean() if tick >= k - 1 else np.nan
            for i, k in enumerate(counts)
        ]
        met = means[0] <= s.thresholds_uv[0] and means[1] >= s.thresholds_uv[1]
        obscured = not window.clear[tick]
        state, verdict = step(state, n, running=True, obscured=obscured, met=bool(met))
        points += verdict.point
    return points / (window.clear_s / 60)


@given(st.integers(0, 1000), st.floats(0.1, 0.9), st.floats(0, 0.5), st.sampled_from([0.0, 0.24]))
def test_the_rate_is_what_the_criterion_would_have_given(
    seed: int, hold_s: float, quiet_s: float, averaging_s: float
) -> None:
    window = wandering(seed, 12.0, hidden=0.1)
    s = settings().changed("hold", hold_s).changed("quiet", quiet_s)
    s = s.changed("smr.averaging", averaging_s)
    if window.clear_s:
        assert Forecaster(window, GRID, ABOVE).rate(s) == pytest.approx(
            rate_by_the_machine(window, s)
        )


def test_obscured_time_is_no_part_of_the_rate() -> None:
    window = always_met(60.0)
    half = np.arange(window.clear.shape[0]) < window.clear.shape[0] // 2
    hidden = Window(window.fast_uv, half, window.tick_s)
    assert Forecaster(hidden, GRID, ABOVE).rate(settings()) == 40.0
    assert Forecaster(window, GRID, ABOVE).rate(settings()) == 40.0


def test_the_interval_holds_the_rate_and_stays_under_the_ceiling() -> None:
    for seed in range(5):
        found = Forecaster(wandering(seed, 90.0), GRID, ABOVE).forecast(settings())
        assert 0 <= found.low <= found.rate <= found.high <= 40.0


def test_more_clear_time_makes_the_interval_narrower() -> None:
    widths = []
    for seconds in (40.0, 160.0):
        found = Forecaster(wandering(3, seconds), GRID, ABOVE).forecast(settings(), 1e9)
        widths.append(np.sqrt(found.high) - np.sqrt(found.low))
    assert widths[1] < widths[0]


def test_a_window_without_a_point_does_not_promise_none() -> None:
    found = Forecaster(wandering(1, 60.0), GRID, ABOVE).forecast(settings(smr=90.0))
    assert found.rate == 0 and found.high > 0.5


def test_eighty_of_a_hundred_intervals_hold_what_comes_when_nothing_drifts() -> None:
    """Made-up amplitudes that do not drift; the interval allows for a drift all the same."""
    held = []
    for seed in range(60):
        whole = wandering(seed, 2 * HORIZON_S)
        half = whole.clear.shape[0] // 2
        parts = [
            Window(whole.fast_uv[part], whole.clear[part], whole.tick_s)
            for part in (slice(0, half), slice(half, None))
        ]
        first, second = (Forecaster(part, GRID, ABOVE) for part in parts)
        found = first.forecast(settings())
        held.append(found.low <= second.rate(settings()) <= found.high)
    assert 0.75 <= np.mean(held) <= 0.95


def test_the_grid_equals_the_rates_one_by_one() -> None:
    forecaster = Forecaster(wandering(2, 60.0, hidden=0.05), GRID, ABOVE)
    theta, smr = np.linspace(3, 9, 4), np.linspace(1, 5, 5)
    grid = forecaster.grid(settings(), 0, theta, 1, smr)
    for i in range(4):
        for j in range(5):
            assert grid[i, j] == forecaster.rate(settings(theta[i], smr[j]))


def test_thirty_clear_seconds_are_needed() -> None:
    assert not Forecaster(wandering(1, 29.0), GRID, ABOVE).enough
    assert Forecaster(wandering(1, 31.0), GRID, ABOVE).enough
