"""The design of the filters: its constraints, and that nothing meets the aim better."""

import numpy as np
import pytest
from numpy.typing import NDArray

from engine.chunk import Floats
from engine.signal.design import (
    TRANSITION_HZ,
    BandGoal,
    Complexes,
    _weights_in_and_beside,
    design_band,
    response_of,
)
from engine.signal.spectrum import typical_eeg

SFREQ = 250.0


def nothing_before(freqs: Floats) -> Complexes:
    return np.ones(freqs.shape, dtype=complex)


def late_and_weak(freqs: Floats) -> Complexes:
    """Something before the filter: a delay of 4 ms and a gain of a half."""
    return np.asarray(0.5 * np.exp(-2j * np.pi * freqs * 0.004))


def designed(goal: BandGoal, n_taps: int = 500) -> Complexes:
    return design_band(goal, SFREQ, n_taps, typical_eeg, nothing_before)


def error_of(taps: NDArray[np.generic], goal: BandGoal) -> float:
    """Return the weighted squared departure from the ideal band, summed over frequency."""
    freqs = np.fft.fftfreq(8192, 1 / SFREQ).astype(np.float64)
    inside = (freqs >= goal.low_hz) & (freqs <= goal.high_hz)
    near = (freqs > goal.low_hz - TRANSITION_HZ) & (freqs < goal.high_hz + TRANSITION_HZ)
    weights = typical_eeg(freqs)
    inside_weight, beside_weight = _weights_in_and_beside(goal.delay_s)
    weights[inside] *= inside_weight
    weights[near & ~inside & (freqs > 0)] *= beside_weight
    ideal = np.where(inside, 2 * np.exp(-2j * np.pi * freqs * goal.delay_s), 0)
    return float(np.sum(weights * np.abs(response_of(taps, SFREQ, freqs) - ideal) ** 2))


@pytest.mark.parametrize("delay_s", [0.08, 0.2, 0.5, 1.0])
@pytest.mark.parametrize("band", [(0.5, 1.5), (4, 8), (12, 15), (20, 30), (60, 95)])
def test_the_gain_is_zero_at_0_hz_and_two_at_the_centre(
    band: tuple[float, float], delay_s: float
) -> None:
    goal = BandGoal(*band, delay_s)
    taps = designed(goal)
    assert abs(taps.sum()) < 1e-13
    response, image = response_of(taps, SFREQ, np.array([goal.centre_hz, -goal.centre_hz]))
    assert abs(image) < 1e-9
    assert response == pytest.approx(2 * np.exp(-2j * np.pi * goal.centre_hz * delay_s), abs=1e-9)


@pytest.mark.parametrize("delay_s", [0.2, 0.5])
def test_no_other_filter_that_meets_the_constraints_comes_nearer_to_the_band(
    delay_s: float,
) -> None:
    """Least squares: from the optimum, every allowed step leads uphill."""
    goal, n_taps = BandGoal(12, 15, delay_s), 300
    taps = designed(goal, n_taps)
    least = error_of(taps, goal)
    lags = np.arange(n_taps) / SFREQ
    constraints = np.exp(-2j * np.pi * np.outer([0.0, goal.centre_hz, -goal.centre_hz], lags))
    rng = np.random.default_rng(0)
    for _ in range(12):
        step = rng.standard_normal(n_taps) + 1j * rng.standard_normal(n_taps)
        step -= np.linalg.pinv(constraints) @ (constraints @ step)
        step *= 1e-3 * np.linalg.norm(taps) / np.linalg.norm(step)
        assert error_of(taps + step, goal) > least


def test_negative_frequencies_are_shut_out() -> None:
    """The output is an analytic signal: what turns the other way is not in it."""
    taps = designed(BandGoal(12, 15, 0.2))
    assert np.abs(response_of(taps, SFREQ, -np.linspace(5, 40, 100))).max() < 0.1


def test_the_design_makes_up_for_what_comes_before() -> None:
    goal = BandGoal(12, 15, 0.2)
    freqs = np.linspace(12.5, 14.5, 20)
    after = design_band(goal, SFREQ, 500, typical_eeg, late_and_weak)
    both = response_of(after, SFREQ, freqs) * late_and_weak(freqs)
    alone = response_of(designed(goal), SFREQ, freqs)
    np.testing.assert_allclose(np.abs(both), np.abs(alone), atol=0.06)
    assert both[10] == pytest.approx(alone[10], abs=0.06)


def test_more_delay_makes_a_band_flatter_inside_and_steeper_outside() -> None:
    freqs = np.array([12.75, 14.25])
    outside = np.array([6.75, 27.0])
    departures, leaks = [], []
    for delay_s in (0.15, 0.2, 0.3, 0.5):
        taps = designed(BandGoal(12, 15, delay_s))
        departures.append(np.abs(np.abs(response_of(taps, SFREQ, freqs)) - 2).max())
        leaks.append(np.abs(response_of(taps, SFREQ, outside)).max())
    assert departures == sorted(departures, reverse=True)
    assert leaks == sorted(leaks, reverse=True)


def test_the_response_of_taps_is_their_fourier_transform() -> None:
    taps = np.random.default_rng(2).standard_normal(64)
    freqs = np.arange(33) * SFREQ / 64
    np.testing.assert_allclose(response_of(taps, SFREQ, freqs), np.fft.rfft(taps), atol=1e-12)
