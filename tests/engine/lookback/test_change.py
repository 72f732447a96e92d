"""A change is told where one is, not where none is, and not from too little."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.lookback.blocks import band_changes, muscle_column, training_blocks
from engine.lookback.change import (
    BLOCK_S,
    FALL,
    MOST_BLOCKS,
    NO_CHANGE,
    RISE,
    TOO_FEW,
    compare,
    trend,
)
from tests.benchmarks.study_change import noise
from tests.engine.lookback.courses import made_course

INDEX = np.arange(72)


def test_a_straight_line_is_found_as_it_is() -> None:
    rng = np.random.default_rng(1)
    told = trend(4 + 0.01 * INDEX + 1e-3 * rng.standard_normal(72), INDEX)
    assert told.change == pytest.approx(0.71, abs=0.003)
    assert told.span_s == 710.0
    assert told.per_minute == pytest.approx(0.06, abs=0.001)
    assert told.level_at_start == pytest.approx(4.0, abs=0.003)
    assert (told.verdict, told.n_blocks) == (RISE, 72)
    assert trend(-0.01 * INDEX + 1e-3 * rng.standard_normal(72), INDEX).verdict == FALL


def test_noise_without_a_trend_seldom_alarms() -> None:
    rng = np.random.default_rng(2)
    for rho in (0.0, 0.5, 0.8):
        told = [trend(noise(rng, 60, rho, 0.0), np.arange(60)) for _ in range(100)]
        outside = sum(not t.low <= 0 <= t.high for t in told)
        # nominal 5 of 100; 13 or more has a chance of 0.1 % at 5 %, of 2 % at 7 %
        assert outside <= 12, rho


def test_the_interval_widens_with_autocorrelation() -> None:
    rng = np.random.default_rng(3)
    width, worth = [], []
    for rho in (0.0, 0.5, 0.8):
        told = [trend(noise(rng, 72, rho, 0.0), INDEX) for _ in range(30)]
        width.append(np.median([t.high - t.low for t in told]))
        worth.append(np.median([t.n_effective for t in told]))
    assert width[0] < width[1] < width[2]
    assert worth[0] > worth[1] > worth[2]
    assert worth[2] == pytest.approx(72 * 0.2 / 1.8, abs=5)


def test_too_few_blocks_get_no_verdict_however_clear_they_are() -> None:
    assert trend(np.arange(59.0), INDEX[:59]).verdict == TOO_FEW
    assert trend(0.1 * INDEX[:60] + 0.01 * (INDEX[:60] % 3), INDEX[:60]).verdict == RISE
    assert trend(np.arange(3.0), INDEX[:3]).verdict == TOO_FEW
    assert trend(np.empty(0), np.empty(0, dtype=int)).n_blocks == 0


def test_what_goes_with_muscle_is_taken_out() -> None:
    rng = np.random.default_rng(4)
    muscle = np.linspace(0, 1, 72) + 0.3 * rng.standard_normal(72)
    values = 4 + 0.5 * muscle + 0.02 * rng.standard_normal(72)
    assert trend(values, INDEX).verdict == RISE
    adjusted = trend(values, INDEX, BLOCK_S, muscle)
    assert adjusted.verdict == NO_CHANGE
    assert abs(adjusted.change) < 0.05


def test_missing_blocks_are_left_out_and_distance_stays() -> None:
    rng = np.random.default_rng(5)
    values = 0.02 * INDEX + 0.05 * rng.standard_normal(72)
    values[10:20] = np.nan
    told = trend(values, INDEX)
    assert told.n_blocks == 62
    assert told.change == pytest.approx(71 * 0.02, abs=0.1)


@given(st.floats(0.1, 50), st.floats(-20, 20), st.integers(0, 50))
def test_a_verdict_knows_no_unit(scale: float, shift: float, seed: int) -> None:
    values = noise(np.random.default_rng(seed), 60, 0.4, 0.3) + 0.02 * np.arange(60)
    one, other = trend(values, np.arange(60)), trend(scale * values + shift, np.arange(60))
    assert other.verdict == one.verdict
    assert other.change == pytest.approx(scale * one.change, rel=1e-5, abs=1e-6)
    assert other.p == pytest.approx(one.p, abs=1e-5)
    turned = trend(-values, np.arange(60))
    assert (turned.low, turned.high) == pytest.approx((-one.high, -one.low), abs=1e-6)


def test_two_baselines_are_compared() -> None:
    rng = np.random.default_rng(6)
    before, after = 4 + 0.2 * rng.standard_normal(18), 4.6 + 0.2 * rng.standard_normal(18)
    told = compare(before, after)
    assert told.verdict == RISE
    assert told.change == pytest.approx(after.mean() - before.mean(), abs=0.05)
    assert compare(before, before + 0.01 * rng.standard_normal(18)).verdict == NO_CHANGE
    assert compare(before[:11], after).verdict == TOO_FEW
    assert compare(before[:1], after).verdict == TOO_FEW


def test_every_band_of_a_session_has_its_change() -> None:
    rng = np.random.default_rng(7)
    n = 1300
    levels = np.array([8.0, 4.0, 5.0]) + 0.3 * rng.standard_normal((n, 3))
    levels[:, 1] += np.linspace(0, 0.5, n)
    course = made_course(
        levels,
        rounds=((180.0, 720.0), (750.0, 1110.0)),
        baselines=(("baseline before", 0.0, 180.0), ("baseline after", 1110.0, 1300.0)),
    )
    theta, smr, beta = band_changes(course)
    assert smr.within.verdict == RISE
    assert smr.within.change == pytest.approx(0.5 * 930 / 1300, abs=0.06)
    assert smr.without_muscle is not None and smr.without_muscle.verdict == RISE
    assert smr.muscle_share < 0.2
    assert smr.baselines is not None and smr.baselines.verdict == RISE
    assert theta.within.verdict in (NO_CHANGE, RISE, FALL)
    assert beta.without_muscle is None
    assert np.isnan(theta.muscle_share) or theta.within.verdict != NO_CHANGE
    assert muscle_column(course) == 2


def test_blocks_are_of_clear_time_and_not_too_many() -> None:
    levels = np.tile([8.0, 4.0, 5.0], (3600, 1))
    clear = np.ones(3600)
    clear[100:106] = 0.0
    blocks = training_blocks(made_course(levels, clear=clear))
    assert blocks.block_s == 30.0
    assert len(blocks) == MOST_BLOCKS
    short = training_blocks(made_course(levels[:600], clear=clear[:600]))
    assert short.block_s == BLOCK_S
    assert 10 not in short.index and len(short) == 59
