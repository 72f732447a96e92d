"""Spectra, relative power, coherence and histograms beside scipy's and MNE's on the same data."""

from __future__ import annotations

import mne
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import signal, stats

from engine.lookback.coherence import band_coherence, coherence_of
from engine.lookback.histogram import histogram_of
from engine.lookback.relative import power_by_minute, power_ratio, relative_power
from engine.lookback.spectra import band_weights, chi_square_interval, power_picture, spectrum_of
from engine.lookback.windows import Windows, independent_windows, joined, windows_of

SFREQ = 256.0


def noise(seconds: float = 60.0, seed: int = 3, n_signals: int = 2) -> NDArray[np.float64]:
    """Return (n_samples, n_signals), µV: noise that falls with frequency, with an offset."""
    white = np.random.default_rng(seed).standard_normal((round(seconds * SFREQ), n_signals))
    return np.asarray(signal.lfilter([1.0], [1.0, -0.9], white, axis=0) * 4 + 300.0)


def windows(samples: NDArray[np.float64]) -> Windows:
    return windows_of(samples, np.ones(samples.shape[0], dtype=bool), SFREQ)


def test_a_spectrum_is_that_of_scipy() -> None:
    samples = noise()
    freqs, psd = signal.welch(samples, SFREQ, nperseg=512, detrend="constant", axis=0)
    found = spectrum_of(windows(samples))
    kept = freqs <= 100
    np.testing.assert_allclose(found.freqs_hz, freqs[kept], atol=1e-12)
    np.testing.assert_allclose(found.psd, psd[kept], rtol=1e-9)


def test_a_spectrum_is_that_of_scipy_where_the_sampling_rate_is_odd_or_low() -> None:
    for sfreq in (250.5, 128.0):
        samples = noise()
        n = round(2 * sfreq)
        clear = np.ones(samples.shape[0], dtype=bool)
        found = spectrum_of(windows_of(samples, clear, sfreq))
        freqs, psd = signal.welch(samples, sfreq, nperseg=n, noverlap=n - round(n / 2), axis=0)
        np.testing.assert_allclose(found.psd, psd[freqs <= 100], rtol=1e-9)


def test_a_spectrum_is_that_of_mne() -> None:
    samples = noise()
    psd, freqs = mne.time_frequency.psd_array_welch(
        samples.T, SFREQ, fmax=100, n_fft=512, n_overlap=256, window="hann", verbose="error"
    )
    found = spectrum_of(windows(samples))
    np.testing.assert_allclose(found.freqs_hz, freqs, atol=1e-12)
    np.testing.assert_allclose(found.psd, psd.T, rtol=1e-9)


def test_what_is_hidden_is_left_out_of_scipys_windows_and_nothing_else() -> None:
    samples = noise()
    clear = np.ones(samples.shape[0], dtype=bool)
    clear[5000] = False
    samples[5000] += 1e5
    found = windows_of(samples, clear, SFREQ)
    freqs, mid_s, power = signal.spectrogram(
        samples, SFREQ, "hann", 512, 256, detrend="constant", axis=0
    )
    fit = np.abs(mid_s - 5000 / SFREQ) > 1
    np.testing.assert_allclose(found.start_s, mid_s[fit] - 1)
    theirs = np.moveaxis(power[freqs <= 100][..., fit], -1, 0)
    np.testing.assert_allclose(found.power, theirs, rtol=1e-8, atol=1e-12)


def test_a_sine_of_ten_microvolts_has_fifty_square_microvolts_in_its_band() -> None:
    time_s = np.arange(60 * SFREQ)[:, np.newaxis] / SFREQ
    found = spectrum_of(windows(10 * np.sin(2 * np.pi * 13 * time_s)))
    assert found.band_power(10, 16)[0] == pytest.approx(50.0, rel=1e-6)
    assert found.band_power(20, 30)[0] == pytest.approx(0.0, abs=1e-6)


def test_the_interval_of_steady_noise_holds_the_truth_nineteen_times_in_twenty() -> None:
    freqs = np.fft.rfftfreq(512, 1 / SFREQ)
    chosen = (freqs >= 4) & (freqs <= 40)
    gain = np.abs(signal.freqz([1.0], [1.0, -0.9], freqs[chosen], fs=SFREQ)[1])
    truth = (16 * gain**2 * 2 / SFREQ)[:, np.newaxis]
    hits = []
    for seed in range(20):
        found = windows(noise(40.0, seed))
        psd = found.power.mean(axis=0)[chosen[: found.freqs_hz.shape[0]]]
        low, high = chi_square_interval(psd, independent_windows(found))
        hits.append(np.mean((low <= truth) & (truth <= high)))
    assert 0.93 < np.mean(hits) < 0.97


def test_overlapping_hann_windows_are_worth_what_welch_says() -> None:
    # Welch 1967, eq. for half overlap: var ratio (1 + 2 (1 - 1/K) rho), rho = (1/6)^2 for Hann.
    found = windows(noise(60.0))
    n = len(found)
    assert independent_windows(found) == pytest.approx(n / (1 + 2 * (1 - 1 / n) / 36), rel=1e-4)


def test_the_given_interval_is_never_narrower_than_that_of_steady_noise() -> None:
    found = windows(noise(120.0))
    given = spectrum_of(found)
    low, high = chi_square_interval(given.psd, given.n_independent)
    assert (given.low <= low).all() and (given.high >= high).all()
    bursts = noise(120.0)
    bursts[: bursts.shape[0] // 2] *= 5
    wide = spectrum_of(windows(bursts))
    assert np.median(np.log(wide.high / wide.low)) > 1.5 * np.median(np.log(given.high / given.low))


def test_band_power_is_the_integral_of_the_spectrum_drawn_as_steps() -> None:
    freqs = np.arange(0, 50.5, 0.5)
    weights = band_weights(freqs, 12, 15)
    assert weights.sum() == pytest.approx(3.0)
    assert weights[24] == weights[30] == 0.25
    assert weights[23] == weights[31] == 0.0


def test_relative_power_and_ratio_are_scipys_integrals() -> None:
    samples = noise(120.0)
    found = windows(samples)
    freqs, psd = signal.welch(samples[:, 0], SFREQ, nperseg=512)

    def power(low: float, high: float) -> float:
        inside = (freqs >= low) & (freqs <= high)
        return float(np.trapezoid(psd[inside], freqs[inside]))

    share = relative_power(found, (12, 15))
    assert share.value == pytest.approx(power(12, 15) / power(1, 45), rel=0.02)
    assert share.low < share.value < share.high
    ratio = power_ratio(found, (4, 8), (12, 15))
    assert ratio.value == pytest.approx(power(4, 8) / power(12, 15), rel=0.02)
    assert relative_power(found, (1, 45)).value == pytest.approx(1.0)


def test_power_by_minute_means_to_the_power_of_the_whole() -> None:
    found = windows(noise(180.0))
    minutes = power_by_minute(found, (12, 15), n_minutes=4)
    assert minutes.shape == (4,) and np.isnan(minutes[3])
    whole = spectrum_of(found).band_power(12, 15)[0]
    assert np.mean(minutes[:3]) == pytest.approx(whole, rel=0.01)


def shared(lag: int) -> NDArray[np.float64]:
    """Return two signals that share half; the second comes ``lag`` samples later."""
    common = np.random.default_rng(5).standard_normal(round(120 * SFREQ) + lag)
    own = noise(120.0, seed=6)[:, :2] / 10
    own[:, 0] += 6 * common[lag:]
    own[:, 1] += 6 * common[: common.shape[0] - lag]
    return own


def test_coherence_and_phase_are_scipys() -> None:
    samples = shared(lag=4)
    found = coherence_of(windows(samples))
    kept = slice(1, found.freqs_hz.shape[0])
    _, coherence = signal.coherence(samples[:, 0], samples[:, 1], SFREQ, nperseg=512)
    _, cross = signal.csd(samples[:, 0], samples[:, 1], SFREQ, nperseg=512)
    np.testing.assert_allclose(found.coherence[kept], coherence[kept], rtol=1e-8)
    # scipy conjugates the first signal, this the second: ahead is positive here.
    np.testing.assert_allclose(found.phase_rad[kept], -np.angle(cross)[kept], atol=1e-8)
    at_10 = int(np.argmin(np.abs(found.freqs_hz - 10)))
    assert found.phase_rad[at_10] == pytest.approx(2 * np.pi * 10 * 4 / SFREQ, abs=0.15)


def test_band_coherence_is_high_where_something_is_shared_and_low_where_nothing_is() -> None:
    both = band_coherence(windows(shared(lag=0)), (9, 11))
    own = np.abs(signal.freqz([0.4], [1.0, -0.9], [10.0], fs=SFREQ)[1][0]) ** 2
    assert both.coherence == pytest.approx((36 / (36 + own)) ** 2, abs=0.03)
    assert abs(both.phase_rad) < 0.05
    assert band_coherence(windows(noise(120.0)), (8, 12)).coherence < 0.1


def test_unrelated_noise_exceeds_the_chance_level_one_time_in_twenty() -> None:
    above = []
    for seed in range(20):
        found = coherence_of(windows(noise(60.0, 100 + seed)))
        above.append(np.mean(found.coherence[4:160] > found.chance))
    assert 0.03 < np.mean(above) < 0.07


def test_the_amplitudes_of_noise_fall_as_rayleigh_says() -> None:
    values = stats.rayleigh.rvs(size=100_000, random_state=np.random.default_rng(8), scale=5.0)
    found = histogram_of(np.append(values, np.nan), top_uv=15.0)
    expected = np.diff(stats.rayleigh.cdf(found.edges_uv, scale=5.0))
    np.testing.assert_allclose(found.share, expected, atol=0.003)
    assert found.n == 100_000
    assert found.above == pytest.approx(stats.rayleigh.sf(15.0, scale=5.0), abs=0.001)
    assert found.median_uv == pytest.approx(stats.rayleigh.median(scale=5.0), rel=0.01)


def test_the_picture_shows_a_burst_where_it_was() -> None:
    samples = noise(60.0)
    time_s = np.arange(samples.shape[0]) / SFREQ
    samples[:, 0] += np.where((time_s >= 20) & (time_s < 30), 30, 0) * np.sin(24 * np.pi * time_s)
    picture = power_picture(windows(samples), 60.0)
    at_12 = picture.level_db[:, picture.freqs_hz.tolist().index(12.0)]
    inside = (picture.edges_s[:-1] >= 20) & (picture.edges_s[1:] <= 30)
    assert at_12[inside].min() > np.nanmax(at_12[(picture.edges_s[:-1] > 32)]) + 10


def test_without_a_clear_window_nothing_is_told() -> None:
    samples = noise(10.0)
    none = windows_of(samples, np.zeros(samples.shape[0], dtype=bool), SFREQ)
    assert np.isnan(spectrum_of(none).psd).all()
    assert np.isnan(relative_power(none, (12, 15)).value)
    assert np.isnan(coherence_of(none).coherence).all()
    assert histogram_of(np.array([np.nan])).n == 0
    with pytest.raises(ValueError, match="no windows"):
        joined([])


def test_joined_windows_are_those_of_their_parts() -> None:
    samples = noise(30.0)
    clear = np.ones(samples.shape[0], dtype=bool)
    cut = round(10 * SFREQ)
    parts = [
        windows_of(samples[:cut], clear[:cut], SFREQ),
        windows_of(samples[cut:], clear[cut:], SFREQ, start_s=12.0),
    ]
    both = joined(parts)
    assert len(both) == 9 + 19 and both.start_s[9] == 12.0
    assert len(both.between(0.0, 10.0)) == 9
    assert both.clear_s == pytest.approx(30.0)
