"""Breaks and rate are found in stamps as real streams make them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.chunk import Floats
from engine.stream.breaks import breaks_and_rate


def even(n: int, sfreq: float, start_s: float = 100.0) -> Floats:
    return start_s + np.arange(n) / sfreq


def test_even_stamps_have_no_break_and_the_rate_they_say() -> None:
    breaks, rate = breaks_and_rate(even(2000, 250.0))
    assert breaks == ()
    assert rate == pytest.approx(250.0)


@given(st.floats(0.12, 300.0), st.integers(300, 1700))
def test_a_hole_is_found_where_it_is_and_spoils_no_rate(hole_s: float, place: int) -> None:
    stamps = even(2000, 250.0)
    stamps[place:] += hole_s
    breaks, rate = breaks_and_rate(stamps)
    assert breaks == (place,)
    assert rate == pytest.approx(250.0, rel=1e-3)


def test_a_clock_that_jumps_back_breaks_the_segment() -> None:
    stamps = even(2000, 250.0)
    stamps[1200:] -= 604_800.0
    breaks, rate = breaks_and_rate(stamps)
    assert breaks == (1200,)
    assert rate == pytest.approx(250.0)


def test_chunks_stamped_on_arrival_break_nothing() -> None:
    """Bursts of ten that arrive up to 30 ms late, stamps spread back at the nominal 250 Hz."""
    rng = np.random.default_rng(0)
    arrivals = np.arange(1, 401) * 10 / 180.0 + rng.uniform(0.0, 0.03, 400)
    stamps = np.concatenate([arrival - np.arange(9, -1, -1) / 250.0 for arrival in arrivals])
    stamps[55:65] -= 0.05
    assert (np.diff(stamps) < 0).any()
    breaks, rate = breaks_and_rate(stamps)
    assert breaks == ()
    assert rate == pytest.approx(180.0, rel=0.005)


def test_samples_that_are_late_and_then_caught_up_break_nothing() -> None:
    stamps = even(2000, 250.0)
    stamps[1000:1100] = np.maximum(stamps[1000:1100], stamps[1000] + 0.4)
    breaks, _ = breaks_and_rate(stamps)
    assert breaks == ()


def test_a_board_with_holes_of_half_a_second_reads_its_true_rate() -> None:
    stamps = even(5000, 180.0)
    stamps[1000:] += 0.44
    stamps[3000:] += 0.3
    breaks, rate = breaks_and_rate(stamps)
    assert breaks == (1000, 3000)
    assert rate == pytest.approx(180.0, rel=1e-3)


def test_stamps_that_never_advance_have_no_rate() -> None:
    assert breaks_and_rate(np.full(50, 3.0)) == ((), 0.0)
