"""Artifacts have the sizes, times and spectra that the trade gives for them."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy import signal

from engine.chunk import Floats
from simulators import artifacts

SEEDED = [
    artifacts.blink,
    artifacts.clench,
    artifacts.jaw_tension,
    artifacts.pop,
    artifacts.step,
    artifacts.movement,
    artifacts.drift,
]


@pytest.mark.parametrize("make", SEEDED)
def test_the_same_seed_gives_the_same_artifact_and_another_does_not(
    make: Callable[..., Floats],
) -> None:
    one, same, other = (make(250, np.random.default_rng(s)) for s in (1, 1, 2))
    np.testing.assert_array_equal(one, same)
    assert one.size != other.size or not np.allclose(one, other)


@pytest.mark.parametrize("make", [m for m in SEEDED if m is not artifacts.step])
def test_an_artifact_ends_at_zero(make: Callable[..., Floats]) -> None:
    for seed in range(20):
        assert abs(make(250, np.random.default_rng(seed), "Fp1")[-1]) < 1e-9


def test_blinks_last_200_to_400_ms_and_reach_100_to_400_uv_at_fp1() -> None:
    rng = np.random.default_rng(0)
    blinks = [artifacts.blink(1000, rng) for _ in range(200)]
    sizes = [blink.max() for blink in blinks]
    assert 100 <= min(sizes) < 130
    assert 370 < max(sizes) <= 400
    assert all(200 <= blink.size <= 400 for blink in blinks)
    assert all(blink.min() > -1e-9 for blink in blinks)


def test_a_blink_of_300_uv_at_fp1_is_36_uv_at_c4() -> None:
    rng = np.random.default_rng(0)
    assert artifacts.blink(1000, rng, "C4", 300.0, 0.3).max() == pytest.approx(36.0)


def test_a_clench_lies_between_20_and_120_hz_with_the_rms_it_says() -> None:
    burst = artifacts.clench(1000, np.random.default_rng(0), "C4", rms_uv=50.0, duration_s=4.0)
    frequencies, density = signal.welch(burst, 1000, nperseg=1000)
    inside = (frequencies >= 19) & (frequencies <= 121)
    assert density[inside].sum() / density.sum() > 0.99
    assert np.sqrt(np.mean(burst[100:-100] ** 2)) == pytest.approx(50.0, rel=0.05)


def test_mild_jaw_tension_is_3_to_10_uv_and_comes_on_slowly() -> None:
    rng = np.random.default_rng(0)
    for _ in range(50):
        tension = artifacts.jaw_tension(500, rng, "C4")
        middle = tension[150:-150]
        assert 2.5 <= np.sqrt(np.mean(middle**2)) <= 11.0
        assert 500 <= tension.size <= 2000
        assert np.abs(tension[:15]).max() < 0.4 * np.abs(middle).max()


def test_muscle_stays_below_half_the_rate() -> None:
    burst = artifacts.clench(160, np.random.default_rng(0), "T4", rms_uv=50.0, duration_s=2.0)
    assert np.isfinite(burst).all()
    assert np.sqrt(np.mean(burst**2)) == pytest.approx(50.0 * 1.8, rel=0.1)


def test_a_pop_jumps_within_one_sample_and_decays() -> None:
    pop = artifacts.pop(250, np.random.default_rng(0), peak_uv=200.0, decay_s=0.2)
    assert abs(pop[0]) == pytest.approx(200.0)
    assert abs(pop[50]) == pytest.approx(200.0 * np.exp(-1), rel=0.02)


def test_a_step_stays_to_the_end_of_the_signal() -> None:
    step = artifacts.step(250, np.random.default_rng(0), height_uv=100.0, duration_s=0.1)
    changed = artifacts.added(np.zeros(1000), 300, step)
    assert not changed[:300].any()
    assert (np.abs(changed[300:]) == 100.0).all()


def test_an_artifact_that_reaches_past_the_end_is_cut() -> None:
    blink = artifacts.blink(250, np.random.default_rng(0))
    changed = artifacts.added(np.zeros(100), 90, blink)
    assert changed.shape == (100,)
    np.testing.assert_array_equal(changed[90:], blink[:10])


def test_adding_leaves_the_signal_given_as_it_was() -> None:
    clean = np.zeros(500)
    artifacts.added(clean, 100, artifacts.blink(250, np.random.default_rng(0)))
    assert not clean.any()


def test_drift_lies_below_a_fifth_of_a_hertz() -> None:
    drift = artifacts.drift(50, np.random.default_rng(3), peak_uv=150.0, duration_s=200.0)
    frequencies, density = signal.periodogram(drift, 50)
    assert density[frequencies < 0.2].sum() / density.sum() > 0.99
    assert np.abs(drift).max() == pytest.approx(150.0)


def test_line_noise_is_a_sine_of_the_amplitude_asked_for_and_goes_on_between_chunks() -> None:
    whole = artifacts.line(250, 1000, 50.0, 5.0)
    spectrum = np.abs(np.fft.rfft(whole)) * 2 / 1000
    assert spectrum[200] == pytest.approx(5.0)
    pieces = np.concatenate([artifacts.line(250, 500, start=s) for s in (0, 500)])
    np.testing.assert_allclose(pieces, whole, atol=1e-9)


def test_line_noise_carries_its_third_harmonic_where_the_rate_allows() -> None:
    spectrum = np.abs(np.fft.rfft(artifacts.line(1000, 1000, 60.0, 5.0))) * 2 / 1000
    assert spectrum[60] == pytest.approx(5.0)
    assert spectrum[180] == pytest.approx(0.5)
