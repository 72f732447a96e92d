"""The band-pass with moving RMS, against `scipy.signal.sosfilt` computed over the whole signal."""

import numpy as np
import pytest
from scipy import signal

from engine.chunk import Floats
from engine.signal.butterworth import Butterworth, butterworth
from engine.signal.design import BandGoal
from engine.signal.grid import grid_for
from simulators.eeg import Eeg
from tests.engine.signals import BANDS, RATES, goals, readings, sine


def estimator(sfreq: float) -> Butterworth:
    return butterworth(grid_for(sfreq), goals())


def directly(band: str, samples: Floats, sfreq: float) -> Floats:
    """Return the RMS over 0.25 s, times √2, of a third-order band-pass, at every sample."""
    sos = signal.butter(3, BANDS[band], "bandpass", fs=sfreq, output="sos")
    squares = np.square(signal.sosfilt(sos, samples))
    n = round(0.25 * sfreq)
    return np.asarray(np.sqrt(2 * signal.lfilter(np.ones(n) / n, [1.0], squares)))


def test_it_is_the_textbook_s_filter_a_tick_at_a_time() -> None:
    """At 250 Hz nothing is decimated, so the whole signal can be filtered directly."""
    eeg = Eeg(250, ("C4",), seed=6).read(0, 2500)[:, 0]
    eeg = eeg - eeg[0]
    ours = readings(estimator(250), eeg)
    for band, name in enumerate(BANDS):
        _, at_centre = signal.sosfreqz(
            signal.butter(3, BANDS[name], "bandpass", fs=250, output="sos"),
            [sum(BANDS[name]) / 2],
            fs=250,
        )
        expected = directly(name, eeg, 250)[4::5] / np.abs(at_centre[0])
        np.testing.assert_allclose(ours[:, band], expected, atol=1e-9 * expected.max())


@pytest.mark.parametrize("sfreq", RATES)
def test_a_sine_of_10_uv_at_a_band_s_centre_reads_10_uv(sfreq: int) -> None:
    """On average: an RMS over less than whole periods ripples, by 5 % at most here.

    A tenth of a hertz beside the centre, lest the ripple keep step with the ticks.
    """
    ours = estimator(sfreq)
    for band, goal in enumerate(ours.goals):
        read = readings(ours, sine(goal.centre_hz + 0.11, sfreq, 9, 10.0))[
            ours.memory_ticks :, band
        ]
        assert read.mean() == pytest.approx(10.0, rel=0.01)
        np.testing.assert_allclose(read, 10.0, rtol=0.05)


@pytest.mark.parametrize("sfreq", RATES)
def test_the_middle_half_is_flat_and_an_octave_outside_little_is_left(sfreq: int) -> None:
    ours = estimator(sfreq)
    for band, (low, high) in enumerate(BANDS.values()):
        quarter = (high - low) / 4
        middle = ours.gain(band, np.linspace(low + quarter, high - quarter, 101))
        np.testing.assert_allclose(middle, 1.0, atol=0.12)
        outside = np.array([f for f in (low / 2, high * 2) if f < ours.grid.sfreq_decimated / 2])
        assert ours.gain(band, outside).max() <= 0.10
        assert ours.gain(band, np.array([50.0, 60.0])).max() <= 0.03


@pytest.mark.parametrize("offset_uv", [-1e5, 1e5])
@pytest.mark.parametrize("sfreq", RATES)
def test_an_electrode_offset_of_100_mv_moves_no_reading(sfreq: int, offset_uv: float) -> None:
    ours = estimator(sfreq)
    eeg = Eeg(sfreq, ("C4",), seed=4).read(0, 5 * sfreq)[:, 0]
    moved = readings(ours, eeg + offset_uv) - readings(ours, eeg)
    assert np.abs(moved[ours.memory_ticks :]).max() <= 0.1


@pytest.mark.parametrize("sfreq", [128, 250, 500, 2048])
def test_the_envelope_of_a_modulated_sine_appears_after_the_stated_delay(sfreq: int) -> None:
    ours = estimator(sfreq)
    for band, goal in enumerate(ours.goals):
        t = np.arange(10 * sfreq) / sfreq
        envelope = 10 + 2 * np.sin(2 * np.pi * 0.4 * t)
        read = readings(ours, envelope * np.sin(2 * np.pi * goal.centre_hz * t))[:, band]
        settled = slice(ours.memory_ticks, None)
        times = ((np.arange(read.shape[0]) + 1) * ours.grid.block - 1) / sfreq
        lags = np.arange(0.0, 1.0, 0.002)
        agreement = [
            np.corrcoef(read[settled], np.sin(2 * np.pi * 0.4 * (times[settled] - lag)))[0, 1]
            for lag in lags
        ]
        stated = ours.delays_s[band]
        assert lags[np.argmax(agreement)] == pytest.approx(stated, abs=ours.grid.tick_s)


@pytest.mark.parametrize("band", [(4.0, 8.0), (12.0, 13.0), (6.0, 7.0)])
def test_after_its_memory_an_offset_is_forgotten_however_narrow_the_band(
    band: tuple[float, float],
) -> None:
    ours = butterworth(grid_for(250), (BandGoal(*band, 0.2),))
    step = np.where(np.arange(250 * 14) < 250, 0.0, 100.0)
    read = readings(ours, step)[50 + ours.memory_ticks :, 0]
    assert read.max() < 0.01


def test_the_step_tail_bounds_what_a_step_leaves_wherever_in_a_tick_it_fell() -> None:
    ours = estimator(250)
    for place in range(ours.grid.per_tick):
        at = 50 * ours.grid.per_tick + place
        read = readings(ours, np.where(np.arange(1000) < at, 0.0, 1.0))[50:]
        for band in range(len(BANDS)):
            tail, _ = ours.tails(band)
            n = min(tail.shape[0], read.shape[0])
            assert (read[:n, band] <= tail[:n] + 1e-12).all()


def test_the_noise_tail_is_the_size_of_what_white_noise_leaves() -> None:
    ours = estimator(250)
    end = 150 * ours.grid.per_tick
    rng = np.random.default_rng(3)
    noise = rng.standard_normal((end + 500, 1000)) * 2.0 * np.sqrt(ours.grid.sfreq_decimated / 2)
    noise[end:] = 0
    size = np.sqrt(np.mean(np.square(readings(ours, noise)[149:]), axis=2))
    for band in range(len(BANDS)):
        _, tail = ours.tails(band)
        n = min(tail.shape[0], size.shape[0])
        assert (size[20:n, band] <= 2 * tail[20:n] * 1.1 + 1e-9).all()
        assert (size[20:60, band] >= 2 * tail[20:60] * 0.5).all()
