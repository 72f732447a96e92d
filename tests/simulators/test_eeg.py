"""The simulated EEG has known sizes, and reads the same however it is read."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import signal

from engine.chunk import Floats
from simulators.eeg import EYES_CLOSED, EYES_OPEN, RAMP, Eeg, Rhythm


def band_rms(samples: Floats, sfreq: float, low_hz: float, high_hz: float) -> float:
    """RMS within a band from the density of scipy.signal.welch."""
    frequencies, density = signal.welch(samples, sfreq, nperseg=round(4 * sfreq))
    inside = (frequencies >= low_hz) & (frequencies < high_hz)
    return math.sqrt(density[inside].sum() * (frequencies[1] - frequencies[0]))


@settings(deadline=None, max_examples=40)
@given(st.lists(st.integers(0, 900), min_size=1, max_size=12), st.integers(0, 3000))
def test_any_chunking_reads_the_same_bits(sizes: list[int], start: int) -> None:
    eeg = Eeg(250, ("C4", "Pz"), seed=3)
    whole = Eeg(250, ("C4", "Pz"), seed=3).read(start, sum(sizes))
    places = itertools.accumulate([start, *sizes])
    pieces = [eeg.read(place, size) for place, size in zip(places, sizes, strict=False)]
    np.testing.assert_array_equal(np.concatenate(pieces), whole)


def test_going_back_reads_the_same_bits() -> None:
    eeg = Eeg(250, ("C4",), seed=3)
    early = eeg.read(100, 300)
    eeg.read(40_000, 10)
    np.testing.assert_array_equal(eeg.read(100, 300), early)


def test_the_same_seed_reads_the_same_and_another_does_not() -> None:
    one, same, other = (Eeg(250, ("C4",), seed=s).read(0, 500) for s in (1, 1, 2))
    np.testing.assert_array_equal(one, same)
    assert not np.allclose(one, other)


def test_a_channel_reads_the_same_alone_and_among_others() -> None:
    alone = Eeg(250, ("C4",), seed=1).read(0, 1000)
    among = Eeg(250, ("Fp1", "C4", "O1"), seed=1).read(0, 1000)
    np.testing.assert_array_equal(among[:, 1], alone[:, 0])


@pytest.mark.parametrize("sfreq", [160, 250, 333.33, 1000])
def test_resting_c4_has_the_sizes_of_real_people(sfreq: float) -> None:
    samples = Eeg(sfreq, ("C4",), seed=5).read(0, round(120 * sfreq))[:, 0]
    assert band_rms(samples, sfreq, 4, 8) == pytest.approx(4.0, rel=0.2)
    assert band_rms(samples, sfreq, 12, 15) == pytest.approx(2.0, rel=0.2)
    assert band_rms(samples, sfreq, 20, 30) == pytest.approx(2.0, rel=0.2)


@pytest.mark.parametrize("hz", [2, 5, 10, 20, 40, 80])
def test_the_background_falls_with_one_over_f_at_the_density_asked_for(hz: int) -> None:
    quiet = Eeg(250, ("C4",), seed=0, rhythms=(), background_uv=0.7)
    frequencies, density = signal.welch(quiet.read(0, 250 * 600)[:, 0], 250, nperseg=1000)
    near = np.abs(frequencies - hz) <= max(0.25, 0.1 * hz)
    assert np.mean(density[near] * frequencies[near]) == pytest.approx(0.7**2 * 10, rel=0.12)


def test_alpha_is_strongest_behind_and_grows_with_eyes_closed() -> None:
    sites = ("C4", "Pz", "O1")
    opened, closed = (Eeg(250, sites, 2, rhythms) for rhythms in (EYES_OPEN, EYES_CLOSED))
    at = {
        name: [band_rms(eeg.read(0, 20_000)[:, i], 250, 8, 12) for i in range(3)]
        for name, eeg in (("open", opened), ("closed", closed))
    }
    assert at["open"][1] > 1.4 * at["open"][0]
    assert at["closed"][1] > 2 * at["closed"][0]
    assert at["closed"][2] > 2 * at["open"][2]


def test_every_burst_has_the_amplitude_it_says() -> None:
    only = (Rhythm("smr", (13.0, 14.0), (5.0, 5.0), (1.0, 1.5), 2.0, 0.5),)
    eeg = Eeg(500, ("C4", "Cz"), seed=8, rhythms=only, background_uv=0.0)
    samples = eeg.read(0, 500 * 60)
    bursts = eeg.bursts(0.0, 60.0)
    assert 8 <= len(bursts) <= 22
    for burst in bursts:
        middle = [round((burst.onset_s + burst.duration_s * u) * 500) for u in (RAMP, 1 - RAMP)]
        inside = np.abs(samples[middle[0] : middle[1]]).max(axis=0)
        for c, name in enumerate(eeg.ch_names):
            assert inside[c] == pytest.approx(eeg.peak_uv(burst, name), rel=0.01)
    assert eeg.peak_uv(bursts[0], "C4") == 5.0
    assert eeg.peak_uv(bursts[0], "Cz") == 4.5


def test_outside_its_bursts_a_rhythm_is_silent() -> None:
    only = (Rhythm("smr", (13.0, 14.0), (5.0, 5.0), (1.0, 1.5), 2.0, 0.5),)
    eeg = Eeg(250, ("C4",), seed=8, rhythms=only, background_uv=0.0)
    silent = np.ones(250 * 60, dtype=bool)
    times_s = np.arange(silent.size) / 250
    for burst in eeg.bursts(0.0, 60.0):
        silent &= (times_s < burst.onset_s) | (times_s > burst.onset_s + burst.duration_s)
    assert silent.any()
    assert not eeg.read(0, silent.size)[silent].any()
