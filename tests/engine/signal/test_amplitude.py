"""Amplitudes of known signals through the streaming steps: decimator, filter, magnitude.

The bounds are those that the estimator promises: 1 % at a band's centre, 12 % over its middle
half and a tenth an octave outside at a delay of 200 ms; 3 % and a hundredth at 500 ms.
"""

import numpy as np
import pytest

from engine.chunk import Floats
from engine.signal.amplitude import AnalyticFir, analytic_fir
from engine.signal.grid import grid_for
from simulators.eeg import Eeg
from tests.engine.signals import BANDS, RATES, goals, readings, sine

DELAYS_S = (0.2, 0.5)
NAMES = list(BANDS)


def estimator(sfreq: float, delay_s: float = 0.2) -> AnalyticFir:
    return analytic_fir(grid_for(sfreq), goals(delay_s))


def octave_out(band: str, sfreq: float) -> Floats:
    """Return an octave below the lower edge and above the upper, where the stream has it."""
    low, high = BANDS[band]
    return np.array([f for f in (low / 2, high * 2) if f < sfreq / 2])


def slow_envelope(t: Floats, highest_hz: float) -> Floats:
    """Return an envelope about 10 µV that holds every frequency up to ``highest_hz`` alike."""
    freqs = np.fft.rfftfreq(t.size, t[1])
    phases = np.random.default_rng(0).uniform(0, 2 * np.pi, freqs.size)
    kept = (freqs > 0) & (freqs < highest_hz)
    wave = np.fft.irfft(np.where(kept, np.exp(1j * phases), 0), t.size)
    return np.asarray(10 + 3 * wave / wave.std())


@pytest.mark.parametrize("delay_s", DELAYS_S)
@pytest.mark.parametrize("sfreq", RATES)
def test_a_sine_of_10_uv_at_a_band_s_centre_reads_10_uv(sfreq: int, delay_s: float) -> None:
    ours = estimator(sfreq, delay_s)
    for band, goal in enumerate(ours.goals):
        read = readings(ours, sine(goal.centre_hz, sfreq, 4, 10.0))[ours.memory_ticks :, band]
        np.testing.assert_allclose(read, 10.0, rtol=0.01)


@pytest.mark.parametrize(("delay_s", "bound"), [(0.2, 0.12), (0.5, 0.03)])
@pytest.mark.parametrize("sfreq", RATES)
def test_the_middle_half_of_a_band_is_flat(sfreq: int, delay_s: float, bound: float) -> None:
    ours = estimator(sfreq, delay_s)
    for band, (low, high) in enumerate(BANDS.values()):
        quarter = (high - low) / 4
        gain = ours.gain(band, np.linspace(low + quarter, high - quarter, 101))
        np.testing.assert_allclose(gain, 1.0, atol=bound)


@pytest.mark.parametrize(("delay_s", "bound"), [(0.2, 0.10), (0.5, 0.01)])
@pytest.mark.parametrize("sfreq", RATES)
def test_an_octave_outside_little_is_left(sfreq: int, delay_s: float, bound: float) -> None:
    ours = estimator(sfreq, delay_s)
    for band, name in enumerate(BANDS):
        assert ours.gain(band, octave_out(name, sfreq)).max() <= bound


@pytest.mark.parametrize("delay_s", DELAYS_S)
@pytest.mark.parametrize("sfreq", RATES)
def test_the_mains_of_either_continent_is_shut_out(sfreq: int, delay_s: float) -> None:
    ours = estimator(sfreq, delay_s)
    for band in range(len(BANDS)):
        assert ours.gain(band, np.array([50.0, 60.0])).max() <= 0.03


@pytest.mark.parametrize("sfreq", RATES)
def test_alpha_next_door_is_kept_out_of_theta_and_smr(sfreq: int) -> None:
    ours = estimator(sfreq)
    assert ours.gain(NAMES.index("theta"), np.array([10.0])).max() <= 0.12
    assert ours.gain(NAMES.index("smr"), np.linspace(10, 11, 11)).max() <= 0.12


@pytest.mark.parametrize("sfreq", RATES)
def test_a_streamed_sine_reads_what_the_response_says(sfreq: int) -> None:
    ours = estimator(sfreq)
    for freq in (2.0, 5.3, 10.0, 11.0, 12.6, 17.0, 23.0, 31.0, 50.0):
        read = readings(ours, sine(freq, sfreq, 3, 10.0))[ours.memory_ticks + 5 :]
        expected = [10 * ours.gain(band, np.array([freq]))[0] for band in range(len(BANDS))]
        # negative frequencies leak a little: the magnitude ripples about the response
        np.testing.assert_allclose(read, np.tile(expected, (read.shape[0], 1)), atol=0.25)
        np.testing.assert_allclose(read.mean(axis=0), expected, atol=0.06)


@pytest.mark.parametrize("offset_uv", [-1e5, 1e5])
@pytest.mark.parametrize("sfreq", RATES)
def test_an_electrode_offset_of_100_mv_moves_no_reading(sfreq: int, offset_uv: float) -> None:
    ours = estimator(sfreq)
    eeg = Eeg(sfreq, ("C4",), seed=4).read(0, 4 * sfreq)[:, 0]
    moved = readings(ours, eeg + offset_uv) - readings(ours, eeg)
    assert np.abs(moved).max() <= 0.1


@pytest.mark.parametrize("delay_s", DELAYS_S)
@pytest.mark.parametrize("sfreq", RATES)
def test_a_known_envelope_appears_after_the_stated_delay(sfreq: int, delay_s: float) -> None:
    """A carrier at the centre, modulated by noise up to a quarter of the band's width.

    Within the longest tick, 23.4 ms: at 200 ms theta and alpha come up to 20 ms early.
    """
    ours = estimator(sfreq, delay_s)
    t = np.arange(16 * sfreq) / sfreq
    for band, goal in enumerate(ours.goals):
        envelope = slow_envelope(t, (goal.high_hz - goal.low_hz) / 4)
        read = readings(ours, envelope * np.sin(2 * np.pi * goal.centre_hz * t))[:, band]
        settled = slice(ours.memory_ticks, None)
        times = ((np.arange(read.shape[0]) + 1) * ours.grid.block - 1) / sfreq
        lags = np.arange(delay_s - 0.15, delay_s + 0.15, 0.002)
        agreement = [
            np.corrcoef(read[settled], np.interp(times[settled] - lag, t, envelope))[0, 1]
            for lag in lags
        ]
        assert max(agreement) > 0.99
        assert lags[np.argmax(agreement)] == pytest.approx(ours.delays_s[band], abs=0.0235)


def test_a_signal_that_stands_still_reads_nothing_from_the_first_tick_on() -> None:
    assert readings(estimator(500), np.full(1000, -54321.0)).max() < 1e-6


def test_after_its_memory_a_filter_has_forgotten_what_was_before() -> None:
    ours = estimator(250)
    rng = np.random.default_rng(0)
    one, other = (rng.standard_normal(1000) * 50 for _ in range(2))
    other[100:] = one[100:]
    apart = np.abs(readings(ours, one) - readings(ours, other))
    last_difference = 100 // ours.grid.block - 1
    assert apart[last_difference + ours.memory_ticks + 1 :].max() < 1e-9
    assert apart[last_difference + ours.memory_ticks // 2].max() > 0.01


def test_signals_side_by_side_read_what_each_reads_alone() -> None:
    ours = estimator(500)
    pair = Eeg(500, ("C3", "C4"), seed=5).read(0, 2000)
    together = readings(ours, pair)
    for i in range(2):
        np.testing.assert_allclose(together[:, :, i], readings(ours, pair[:, i]), atol=1e-12)


def test_the_step_tail_bounds_what_a_step_leaves_wherever_in_a_tick_it_fell() -> None:
    ours = estimator(250)
    per_tick = ours.grid.per_tick
    for place in range(per_tick):
        at = 50 * per_tick + place
        signal = np.where(np.arange(250 * 4) < at, 0.0, 1.0)
        read = readings(ours, signal)[50:]
        for band in range(len(BANDS)):
            tail, _ = ours.tails(band)
            n = min(tail.shape[0], read.shape[0])
            assert (read[:n, band] <= tail[:n] + 1e-12).all()
            if place == per_tick - 1:
                assert (read[: n // 2, band] > 0.9 * tail[: n // 2]).any()


def test_the_noise_tail_is_the_size_of_what_white_noise_leaves() -> None:
    """Noise of density d, µV/√Hz, has the standard deviation d √(sfreq / 2)."""
    ours = estimator(250)
    end = 150 * ours.grid.per_tick
    rng = np.random.default_rng(3)
    noise = rng.standard_normal((end + 500, 2000)) * 2.0 * np.sqrt(ours.grid.sfreq_decimated / 2)
    noise[end:] = 0
    read = readings(ours, noise)[149:]
    size = np.sqrt(np.mean(np.square(read), axis=2))
    for band in range(len(BANDS)):
        _, tail = ours.tails(band)
        kept = size[: tail.shape[0], band]
        np.testing.assert_allclose(kept, 2 * tail[: kept.shape[0]], rtol=0.12, atol=1e-9)
