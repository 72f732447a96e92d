"""Decimation a tick at a time, against `scipy.signal.lfilter` over the whole signal at once."""

import numpy as np
import pytest
from scipy import signal

from engine.chunk import Floats
from engine.signal.decimate import Decimator, decimator_for
from engine.signal.grid import grid_for
from tests.engine.signals import sine

DECIMATED = (400, 500, 512, 1000, 1024, 2048, 4096)


def decimated(decimator: Decimator, samples: Floats) -> Floats:
    recent, block, pieces = decimator.start(samples[0]), decimator.grid.block, []
    for start in range(0, samples.shape[0] - block + 1, block):
        recent, piece = decimator.step(recent, samples[start : start + block])
        pieces.append(piece)
    return np.concatenate(pieces)


@pytest.mark.parametrize("sfreq", DECIMATED)
def test_ticks_together_are_the_whole_signal_filtered_and_thinned_out(sfreq: int) -> None:
    decimator = decimator_for(grid_for(sfreq))
    samples = np.random.default_rng(1).standard_normal((2 * sfreq, 3))
    taps, factor = decimator.taps, decimator.grid.factor
    zi = signal.lfilter_zi(taps, [1.0])[:, np.newaxis] * samples[0]
    whole, _ = signal.lfilter(taps, [1.0], samples, axis=0, zi=zi)
    ours = decimated(decimator, samples)
    expected = whole[factor - 1 :: factor][: ours.shape[0]]
    np.testing.assert_allclose(ours, expected, rtol=0, atol=1e-12)


@pytest.mark.parametrize("sfreq", [128, 250, 256, 300])
def test_a_rate_that_needs_no_decimation_passes_untouched(sfreq: int) -> None:
    samples = np.random.default_rng(1).standard_normal((sfreq, 2))
    ours = decimated(decimator_for(grid_for(sfreq)), samples)
    np.testing.assert_array_equal(ours, samples[: ours.shape[0]])


@pytest.mark.parametrize("sfreq", DECIMATED)
def test_what_would_fold_into_a_band_is_shut_out(sfreq: int) -> None:
    decimator = decimator_for(grid_for(sfreq))
    rate = decimator.grid.sfreq_decimated
    above = np.linspace(0.6 * rate, sfreq / 2, 500)
    assert np.abs(decimator.response(above)).max() < 1e-3


def test_a_tone_that_folds_to_10_hz_leaves_less_than_a_thousandth() -> None:
    decimator = decimator_for(grid_for(1000))
    folded = decimated(decimator, sine(260, 1000, 3, 100.0)[:, np.newaxis])
    assert np.abs(folded[100:]).max() < 0.1


@pytest.mark.parametrize("sfreq", DECIMATED)
def test_what_a_band_may_use_passes_within_a_hundredth(sfreq: int) -> None:
    decimator = decimator_for(grid_for(sfreq))
    inside = np.linspace(0, 0.4 * decimator.grid.sfreq_decimated, 500)
    np.testing.assert_allclose(np.abs(decimator.response(inside)), 1.0, atol=0.01)


def test_a_tone_comes_out_as_the_response_says() -> None:
    decimator = decimator_for(grid_for(2048))
    through = decimated(decimator, sine(30, 2048, 4)[:, np.newaxis])[512:, 0]
    n = np.arange(through.shape[0]) + 512
    times = ((n + 1) * decimator.grid.factor - 1) / 2048
    response = decimator.response(np.array([30.0]))[0]
    expected = np.abs(response) * np.sin(2 * np.pi * 30 * times + np.angle(response))
    np.testing.assert_allclose(through, expected, atol=1e-9)


@pytest.mark.parametrize("sfreq", DECIMATED)
def test_the_low_pass_costs_little_time(sfreq: int) -> None:
    """Minimum phase: at 10 Hz a delay of two decimated samples, where linear phase takes six."""
    decimator = decimator_for(grid_for(sfreq))
    response = decimator.response(np.array([9.9, 10.1]))
    phase = np.unwrap(np.angle(response))
    assert 0 <= -(phase[1] - phase[0]) / (2 * np.pi * 0.2) < 2.2 / decimator.grid.sfreq_decimated


def test_a_segment_starts_as_if_its_first_sample_had_stood_for_ever() -> None:
    constant = np.full((1000, 2), 43210.0)
    np.testing.assert_allclose(decimated(decimator_for(grid_for(500)), constant), 43210.0)
