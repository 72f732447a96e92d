"""Starting thresholds keep the shares that are asked for, or move reward to the target rate."""

import numpy as np
import pytest

from engine.errors import ConfigError
from engine.reward.baseline import starting_thresholds
from engine.reward.forecast import Forecaster
from engine.reward.recent import Window
from tests.engine.reward.windows import ABOVE, GRID, settings, wandering


def forecaster(seed: int = 7) -> Forecaster:
    return Forecaster(wandering(seed, 180.0), GRID, ABOVE)


def test_each_band_is_met_for_its_share_of_the_time() -> None:
    start = starting_thresholds(forecaster(), settings(), ABOVE, None, {"theta": 0.7, "smr": 0.5})
    assert start.shares == pytest.approx((0.7, 0.5), abs=0.01)


def test_the_target_rate_is_reached_by_the_reward_band_alone() -> None:
    found = forecaster()
    start = starting_thresholds(found, settings(), ABOVE, 12.0, {"theta": 0.8})
    assert found.rate(start.settings) == pytest.approx(12.0, abs=1.0)
    assert start.shares[0] == pytest.approx(0.8, abs=0.01)
    assert start.forecast.rate == found.rate(start.settings)


def test_bands_that_go_together_earn_more_than_independence_says() -> None:
    rng = np.random.default_rng(3)
    window = wandering(7, 180.0)
    low_when_high = np.stack([12 - 2 * window.fast_uv[:, 1], window.fast_uv[:, 1]], axis=1)
    low_when_high[:, 0] += rng.normal(0, 0.01, len(low_when_high))
    together = Forecaster(Window(low_when_high, window.clear, window.tick_s), GRID, ABOVE)
    start = starting_thresholds(together, settings(), ABOVE, None, {"theta": 0.6, "smr": 0.6})
    assert start.forecast.rate > 1.5 * start.independent_rate


def test_independent_bands_earn_about_what_independence_says() -> None:
    start = starting_thresholds(forecaster(), settings(), ABOVE, 12.0, {"theta": 0.8})
    assert start.independent_rate == pytest.approx(start.forecast.rate, rel=0.35)


@pytest.mark.parametrize(
    ("target", "shares", "said"),
    [(None, {"smr": 1.2}, "smr share is 1.2"), (-1.0, {}, "target rate is -1.0")],
)
def test_what_cannot_be_asked_for_is_said(
    target: float | None, shares: dict[str, float], said: str
) -> None:
    with pytest.raises(ConfigError, match=said):
        starting_thresholds(forecaster(), settings(), ABOVE, target, shares)
