"""Gaps, bursts and clocks that jump, told apart from stamps and counts alone."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.chunk import Floats
from engine.stream.arrival import HOLD_S, ArrivalWatch, Break
from tests.engine.stream.stamps import even, in_chunks, stamped_on_arrival, without

RATES = st.sampled_from([128.0, 160.0, 250.0, 500.0, 1000.0])
SEEDS = st.integers(0, 10_000)


def is_break(found: Break, index: int, lead_s: float, n_missing: int, clock: bool) -> bool:
    same = (found.index, found.n_missing, found.clock) == (index, n_missing, clock)
    return same and found.lead_s == pytest.approx(lead_s)


def watched(stamps_s: Floats, sfreq: float, seed: int = 0) -> list[Break]:
    watch = ArrivalWatch(sfreq)
    found = [b for chunk in in_chunks(stamps_s, seed) for b in watch.feed(chunk)]
    found += watch.flush()
    assert watch.settled == stamps_s.size
    return found


@given(sfreq=RATES, seed=SEEDS, late_ms=st.floats(0, 10))
def test_jittery_arrivals_never_look_like_a_gap(sfreq: float, seed: int, late_ms: float) -> None:
    stamps = stamped_on_arrival(round(20 * sfreq), sfreq, seed, late_ms / 1000)
    assert watched(stamps, sfreq, seed) == []


@given(sfreq=RATES, seed=SEEDS, gap_s=st.floats(0.1, 5), late_ms=st.floats(0, 8))
def test_a_gap_of_a_tenth_of_a_second_is_found_and_measured(
    sfreq: float, seed: int, gap_s: float, late_ms: float
) -> None:
    missing = int(np.ceil(gap_s * sfreq))
    at = round(6 * sfreq)
    stamps = stamped_on_arrival(round(12 * sfreq) + missing, sfreq, seed, late_ms / 1000)
    (found,) = watched(without(stamps, at, missing), sfreq, seed)
    assert not found.clock
    assert abs(found.index - at) <= 0.04 * sfreq
    assert abs(found.n_missing - missing) <= 3 + 0.02 * sfreq


@given(seed=SEEDS)
def test_however_jittery_the_stamps_a_longer_gap_is_still_found(seed: int) -> None:
    stamps = without(stamped_on_arrival(4000, 250.0, seed, late_s=0.03), 2500, 50)
    (found,) = watched(stamps, 250.0, seed)
    assert abs(found.n_missing - 50) <= 15


@given(sfreq=RATES, missing_s=st.floats(0.1, 3))
def test_with_even_stamps_the_length_of_a_gap_is_exact(sfreq: float, missing_s: float) -> None:
    missing = int(np.ceil(missing_s * sfreq))
    at = round(3 * sfreq)
    (found,) = watched(without(even(round(8 * sfreq) + missing, sfreq), at, missing), sfreq)
    assert found.index == at
    assert found.n_missing == missing


@given(sfreq=RATES, seeds=st.tuples(SEEDS, SEEDS))
def test_chunking_changes_nothing(sfreq: float, seeds: tuple[int, int]) -> None:
    stamps = without(stamped_on_arrival(round(10 * sfreq), sfreq, seeds[0]), round(4 * sfreq), 99)
    assert watched(stamps, sfreq, seeds[0]) == watched(stamps, sfreq, seeds[1])


def test_one_sample_at_a_time_is_a_chunking_too() -> None:
    stamps = without(even(2000, 250.0), 800, 50)
    watch = ArrivalWatch(250.0)
    found = [b for i in range(stamps.size) for b in watch.feed(stamps[i : i + 1])]
    assert found == watched(stamps, 250.0)


@given(seed=SEEDS, late_s=st.floats(0.1, 0.45))
def test_samples_that_come_late_together_are_no_gap(seed: int, late_s: float) -> None:
    sfreq = 250.0
    stamps = stamped_on_arrival(5000, sfreq, seed, 0.003)
    first = 2500
    end = first + round(late_s * sfreq)
    stamps[first:end] = stamps[end]  # nothing for a while, then all at once
    assert watched(stamps, sfreq, seed) == []


def test_suspicious_samples_are_held_and_no_longer_than_a_quarter_second() -> None:
    stamps = without(even(2000, 250.0), 1000, 100)
    watch = ArrivalWatch(250.0)
    watch.feed(stamps[:1000])
    assert watch.settled == 1000
    watch.feed(stamps[1000:1010])
    assert watch.settled == 1000
    held = round(HOLD_S * 250)
    (found,) = watch.feed(stamps[1010 : 1000 + held])
    assert is_break(found, 1000, 0.4, 100, False)
    assert watch.settled == 1000 + held


def test_what_is_held_when_a_stream_ends_is_decided_at_once() -> None:
    watch = ArrivalWatch(250.0)
    watch.feed(without(even(2000, 250.0), 1000, 100)[:1010])
    (found,) = watch.flush()
    assert is_break(found, 1000, 0.4, 100, False)
    assert watch.settled == 1010


@pytest.mark.parametrize("back_s", [0.5, 7.0, 604_800.0])
def test_a_clock_set_back_is_a_jump_and_not_a_gap(back_s: float) -> None:
    stamps = even(3000, 250.0)
    stamps[1500:] -= back_s
    (found,) = watched(stamps, 250.0)
    assert is_break(found, 1500, -back_s, 0, True)


def test_a_clock_set_forward_shows_in_samples_that_never_paused() -> None:
    stamps = even(3000, 250.0)
    stamps[1500:] += 3600
    watch = ArrivalWatch(250.0)
    (found,) = [b for chunk in np.split(stamps, 300) for b in watch.feed(chunk, 0.04)]
    assert is_break(found, 1500, 3600, 0, True)


def test_a_long_gap_shows_in_samples_that_did_pause() -> None:
    chunks = np.split(without(even(3000, 250.0), 1500, 500), 250)
    watch = ArrivalWatch(250.0)
    (found,) = [b for i, c in enumerate(chunks) for b in watch.feed(c, 2.0 if i == 150 else 0.04)]
    assert is_break(found, 1500, 2.0, 500, False)


def test_a_replay_at_ten_times_the_speed_keeps_its_gaps() -> None:
    chunks = np.split(without(even(3000, 250.0), 1500, 50), 295)
    watch = ArrivalWatch(250.0)
    found = [b for i, c in enumerate(chunks) for b in watch.feed(c, 0.02 if i == 150 else 0.004)]
    assert [b.n_missing for b in found] == [50]


@given(off=st.floats(-0.01, 0.01), seed=SEEDS)
def test_a_rate_within_one_per_cent_is_drift_and_not_a_gap(off: float, seed: int) -> None:
    stamps = stamped_on_arrival(250 * 30, 250.0 * (1 + off), seed, 0.004)
    assert watched(stamps, 250.0, seed) == []


def test_two_gaps_in_a_row_are_two() -> None:
    stamps = without(without(even(3000, 250.0), 1900, 40), 1500, 60)
    assert [(b.index, b.n_missing) for b in watched(stamps, 250.0)] == [(1500, 60), (1840, 40)]


def test_a_new_segment_joins_on_to_nothing() -> None:
    watch = ArrivalWatch(250.0)
    assert watch.feed(even(500, 250.0)) == ()
    watch.new_segment()
    assert watch.feed(even(500, 250.0) - 900) == ()
    assert watch.irregular.n_backward == 0


def test_a_burst_at_the_start_of_a_segment_is_no_jump() -> None:
    stamps = even(2000, 250.0)
    stamps[:200] = stamps[200]
    assert watched(stamps, 250.0) == []


def test_stamps_that_are_no_times_are_passed_over_and_counted() -> None:
    stamps = even(2000, 250.0)
    stamps[700:720] = np.nan
    stamps[900] = np.inf
    watch = ArrivalWatch(250.0)
    assert [b for c in np.split(stamps, 100) for b in watch.feed(c)] == []
    assert watch.settled == 2000
    assert watch.irregular.n_not_a_time == 21


def test_backward_steps_and_odd_spacing_are_counted() -> None:
    stamps = even(1000, 250.0)
    stamps[500:510] -= 0.03
    watch = ArrivalWatch(250.0)
    assert watch.feed(stamps) == ()
    assert watch.irregular.n_backward == 1
    assert watch.irregular.furthest_back_s == pytest.approx(0.026)
    assert watch.irregular.n_odd == 2
    assert watch.irregular.n_stamps == 1000
