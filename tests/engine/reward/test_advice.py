"""One change, the least that reaches the zone; none where none is needed, known, or right."""

import numpy as np
import pytest

from engine.reward.advice import EDGE_SHARE, MOST_DEPARTURE, MOST_SHARE, advise, direction_of_harder
from engine.reward.baseline import starting_thresholds
from engine.reward.forecast import Forecaster
from engine.settings import Settings
from tests.engine.reward.windows import ABOVE, GRID, STEPS, always_met, settings, wandering

ZONE = (10.0, 15.0)


def forecaster(seed: int = 4, seconds: float = 180.0) -> Forecaster:
    return Forecaster(wandering(seed, seconds), GRID, ABOVE)


def started_at(rate: float) -> tuple[Forecaster, Settings]:
    found = forecaster()
    return found, starting_thresholds(found, settings(), ABOVE, rate, {"theta": 0.8}).settings


@pytest.mark.parametrize("rate", [4.0, 24.0])
def test_the_change_brings_the_rate_well_into_the_zone(rate: float) -> None:
    found, now = started_at(rate)
    advice = advise(found, now, STEPS, ZONE, ABOVE)
    assert advice.change is not None and advice.now is not None
    changed = now.changed(advice.change.key, advice.change.value)
    margin = EDGE_SHARE * (ZONE[1] - ZONE[0])
    assert ZONE[0] + margin <= found.rate(changed) <= ZONE[1] - margin
    assert advice.change.forecast == found.forecast(changed)
    assert advice.change.departure <= MOST_DEPARTURE


@pytest.mark.parametrize("rate", [4.0, 24.0])
def test_no_other_single_change_departs_less(rate: float) -> None:
    found, now = started_at(rate)
    advice = advise(found, now, STEPS, ZONE, ABOVE)
    assert advice.change is not None
    for key, step in STEPS.items():
        alone = advise(found, now, {key: step}, ZONE, ABOVE)
        if alone.change is not None:
            assert alone.change.departure >= advice.change.departure
    if advice.runner_up is not None:
        assert advice.runner_up.departure >= advice.change.departure
        assert advice.runner_up.key != advice.change.key


def test_no_threshold_is_advised_far_away_from_itself() -> None:
    found = forecaster()
    far = settings(smr=float(np.quantile(found.window.fast_uv[:, 1], 0.97)))
    needed = starting_thresholds(found, far, ABOVE, 12.5, {"theta": 0.98}).settings
    assert needed.value("smr.threshold") < (1 - MOST_SHARE) * far.value("smr.threshold")
    advice = advise(found, far, {"smr.threshold": 0.1}, ZONE, ABOVE)
    assert advice.change is None and "no single change" in advice.reason


def test_only_whole_nudges_are_advised() -> None:
    found, now = started_at(24.0)
    change = advise(found, now, STEPS, ZONE, ABOVE).change
    assert change is not None
    steps = (change.value - now.value(change.key)) / STEPS[change.key]
    assert steps == pytest.approx(round(steps), abs=1e-6)


def test_a_rate_in_the_zone_is_left_alone() -> None:
    found, now = started_at(12.5)
    advice = advise(found, now, STEPS, ZONE, ABOVE)
    assert advice.change is None and advice.reason.startswith("leave it")


def test_an_interval_that_covers_the_zone_is_left_alone() -> None:
    found = forecaster(seconds=31.0)
    now = starting_thresholds(found, settings(), ABOVE, 9.0, {"theta": 0.8}).settings
    advice = advise(found, now, STEPS, (9.9, 10.1), ABOVE)
    assert advice.change is None and advice.reason.startswith("leave it")


def test_too_little_clear_signal_is_said() -> None:
    advice = advise(forecaster(seconds=20.0), settings(), STEPS, ZONE, ABOVE)
    assert advice.now is None and advice.change is None
    assert "too little clear signal" in advice.reason


def test_easing_an_inhibit_band_is_never_advised_while_muscle_is_raised() -> None:
    found = forecaster()
    theta_stands_in_the_way = settings(
        theta=float(np.quantile(found.window.fast_uv[:, 0], 0.4)), smr=0.5
    )
    only_theta = {"theta.threshold": 0.2}
    freely = advise(found, theta_stands_in_the_way, only_theta, ZONE, ABOVE)
    assert freely.change is not None and freely.change.key == "theta.threshold"
    tense = advise(found, theta_stands_in_the_way, only_theta, ZONE, ABOVE, muscle_raised=True)
    assert tense.change is None and "muscle" in tense.reason


def test_tightening_an_inhibit_band_may_be_advised_all_the_same() -> None:
    found, now = started_at(24.0)
    only_theta = {"theta.threshold": 0.2}
    advice = advise(found, now, only_theta, ZONE, ABOVE, muscle_raised=True)
    assert advice.change is not None and advice.change.value < now.value("theta.threshold")


def test_what_no_single_change_reaches_is_said() -> None:
    found = Forecaster(always_met(60.0), GRID, ABOVE)
    advice = advise(found, settings(), {"quiet": 0.1}, ZONE, ABOVE)
    assert advice.change is None and "no single change" in advice.reason


def test_every_setting_knows_which_way_is_harder() -> None:
    ways = [direction_of_harder(key, settings(), ABOVE) for key in STEPS]
    assert ways == [-1, 1, 1, 1]
