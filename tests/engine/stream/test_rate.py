"""The measured rate, its interval, and when it is certain enough to say."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.chunk import Floats
from engine.stream.rate import (
    Rate,
    RateWatch,
    Verdict,
    judge,
    measure_between_breaks,
    measure_rate,
    rough_rate,
)
from tests.engine.stream.stamps import even, stamped_on_arrival, without

SEEDS = st.integers(0, 10_000)


def verdicts(stamps_s: Floats, stated: float) -> list[Verdict]:
    watch = RateWatch(stated)
    return [v for part in np.array_split(stamps_s, 400) if (v := watch.feed(part))]


def measured(stamps_s: Floats) -> Rate:
    n = stamps_s.size
    rate = measure_rate(np.arange(float(n)), stamps_s, np.zeros(n))
    assert rate is not None
    return rate


@pytest.mark.parametrize("sfreq", [128.0, 249.7, 250.0, 512.0, 1000.0])
def test_even_stamps_give_the_rate_exactly(sfreq: float) -> None:
    rate = measured(even(round(10 * sfreq), sfreq))
    assert rate.sfreq == pytest.approx(sfreq, rel=1e-9)
    assert rate.high - rate.low < 1e-6 * sfreq


@given(sfreq=st.floats(128, 1000), seed=SEEDS)
def test_ten_seconds_of_jitter_give_the_rate_within_three_per_mille(
    sfreq: float, seed: int
) -> None:
    rate = measured(stamped_on_arrival(round(10 * sfreq), sfreq, seed))
    assert rate.sfreq == pytest.approx(sfreq, rel=3e-3)


def test_the_interval_holds_the_truth_nearly_always() -> None:
    rates = [measured(stamped_on_arrival(1000, 250.0, seed)) for seed in range(200)]
    assert sum(rate.low <= 250 <= rate.high for rate in rates) >= 190


def test_the_rate_is_settled_from_two_seconds_on_and_never_before() -> None:
    first = next(v for v in verdicts(even(5000, 250.0), 250.0) if v.within is not None)
    assert first.within
    assert 2.0 <= first.rate.seconds <= 3.01


@given(seed=SEEDS, sfreq=st.one_of(st.floats(150, 247.0), st.floats(253.0, 300)))
def test_a_rate_is_never_called_off_before_ten_seconds(seed: int, sfreq: float) -> None:
    found = verdicts(stamped_on_arrival(round(14 * sfreq), sfreq, seed), 250.0)
    early = [v.within for v in found if v.rate.seconds < 10]
    late = [v.within for v in found if v.rate.seconds >= 10]
    assert False not in early
    assert late
    assert not any(late)


@given(seed=SEEDS, sfreq=st.floats(248.5, 251.5))
def test_a_rate_within_one_per_cent_is_never_called_off(seed: int, sfreq: float) -> None:
    found = verdicts(stamped_on_arrival(round(14 * sfreq), sfreq, seed), 250.0)
    assert found[-1].within
    assert False not in [v.within for v in found]


def test_a_board_that_drops_samples_is_measured_between_its_holes() -> None:
    stamps = stamped_on_arrival(180 * 40, 180.0, 3, spaced_at=250.0)
    watch = RateWatch(250.0)
    first = 0
    for hole in range(900, stamps.size, 900):
        watch.feed(stamps[first : hole - 60])
        watch.new_segment()
        first = hole
    assert watch.latest is not None
    assert watch.latest.sfreq == pytest.approx(180, rel=0.01)
    assert judge(watch.latest, 250.0).within is False


@given(seed=SEEDS, sfreq=st.floats(150, 300))
def test_a_first_rate_is_spoilt_neither_by_holes_nor_by_bursts(seed: int, sfreq: float) -> None:
    stamps = without(stamped_on_arrival(1200, sfreq, seed), 300, 100)
    assert rough_rate(stamps, 250.0) == pytest.approx(sfreq, rel=0.04)


def test_a_few_wild_stamps_do_not_move_the_rate() -> None:
    stamps = stamped_on_arrival(2500, 250.0, 6)
    stamps[-5:] += 8
    stamps[1200:1203] -= 3
    assert measured(stamps).sfreq == pytest.approx(250, rel=3e-3)


def test_holes_are_taken_out_before_the_rate_is_measured() -> None:
    stamps = stamped_on_arrival(180 * 12, 180.0, 8, spaced_at=250.0)
    for hole in range(1800, 100, -300):
        stamps = without(stamps, hole, 80)
    rate = measure_between_breaks(stamps, 250.0)
    assert rate is not None
    assert rate.sfreq == pytest.approx(180, rel=0.01)


def test_stamps_that_stand_still_have_no_rate() -> None:
    n = 500
    assert measure_rate(np.arange(float(n)), np.full(n, 7.0), np.zeros(n)) is None
    assert measure_rate(np.arange(float(n)), np.full(n, np.nan), np.zeros(n)) is None
    assert measure_rate(np.arange(float(n)), -even(n, 250.0), np.zeros(n)) is None
    assert measure_between_breaks(np.full(n, 7.0), 250.0) is None
    assert measure_between_breaks(7 + np.arange(float(n)) * 1e-7, 250.0) is None
    assert RateWatch(250.0).feed(np.empty(0)) is None


def test_old_samples_leave_the_window() -> None:
    slow = even(250 * 40, 245.0)
    fast = slow[-1] + 1 / 250 + np.arange(250 * 35) / 250.0
    found = verdicts(np.concatenate([slow, fast]), 250.0)
    assert found[10].within is False
    assert found[-1].within is True
    assert found[-1].rate.seconds <= 31.1
