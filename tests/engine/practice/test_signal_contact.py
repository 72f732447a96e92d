"""What the signal says of the contact without impedances: known sizes, one word a sensor."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.chunk import Floats
from engine.clinic import ContactLimits
from engine.practice.signal_contact import SUBSTITUTE, SignalContact, SignalSite, SignalView
from simulators import artifacts
from simulators.eeg import Eeg

SFREQ = 250
N = 12 * SFREQ


def seen(samples: Floats, sfreq: float = SFREQ) -> SignalSite:
    view = viewed(samples, sfreq)
    assert view is not None
    return view.sites[0]


def viewed(samples: Floats, sfreq: float = SFREQ) -> SignalView | None:
    return SignalContact(("C4",), sfreq).feed(samples[:, np.newaxis])


def eeg(sfreq: float = SFREQ, seed: int = 5) -> Floats:
    return Eeg(sfreq, ("C4",), seed).read(0, round(12 * sfreq))[:, 0]


def sine(hz: float, peak_uv: float, sfreq: float = SFREQ) -> Floats:
    return np.asarray(peak_uv * np.sin(2 * np.pi * hz * np.arange(round(12 * sfreq)) / sfreq))


@pytest.mark.parametrize("hz", [50.0, 60.0])
@pytest.mark.parametrize("sfreq", [128, 160, 250, 500, 512, 1000])
def test_a_sine_of_7_uv_at_the_mains_reads_7(hz: float, sfreq: int) -> None:
    rng = np.random.default_rng(2)
    noise = 0.3 * np.sqrt(sfreq / 2) * rng.standard_normal(12 * sfreq) + 4000.0
    site = seen(noise + sine(hz, 7.0, sfreq), sfreq)
    if hz < 0.45 * sfreq:
        assert site.mains_hz == hz
        assert site.mains_uv == pytest.approx(7.0, abs=0.7)


@pytest.mark.parametrize("sfreq", [160, 250, 500])
def test_white_noise_of_half_a_microvolt_per_root_hertz_reads_a_half(sfreq: int) -> None:
    rng = np.random.default_rng(4)
    noise = 0.5 * np.sqrt(sfreq / 2) * rng.standard_normal(12 * sfreq)
    assert seen(noise, sfreq).noise_uv == pytest.approx(0.5, rel=0.15)


def test_plain_eeg_is_quiet_whatever_its_offset() -> None:
    site = seen(eeg() + 80_000.0)
    assert site.word == "quiet" and site.fit
    assert site.mains_uv is not None and site.mains_uv < 1.0


def test_a_ramp_of_20_uv_a_second_drifts_180_in_ten_seconds() -> None:
    """Ten medians of whole seconds lie nine seconds apart from first to last."""
    site = seen(20.0 * np.arange(N) / SFREQ)
    assert site.drift_uv == pytest.approx(180.0, abs=0.1)
    assert site.word == "drifts"


def test_a_blink_is_no_drift() -> None:
    rng = np.random.default_rng(1)
    blink = artifacts.blink(SFREQ, rng, "Fp1", 400.0, 0.3)
    plain = seen(eeg())
    blinking = seen(artifacts.added(eeg(), 9 * SFREQ, blink))
    assert abs(blinking.drift_uv - plain.drift_uv) < 10.0


@pytest.mark.parametrize(
    ("change", "word"),
    [
        (lambda x: x + sine(50.0, 30.0), "mains"),
        (lambda x: x + sine(60.0, 30.0), "mains"),
        (lambda x: x + 40.0 * np.arange(N) / SFREQ, "drifts"),
        (lambda x: x + 15 * np.random.default_rng(0).standard_normal(N), "noisy"),
        (lambda x: 0 * x + 3.0, "flat"),
    ],
)
def test_each_kind_of_trouble_has_its_word_and_its_sentence(change: object, word: str) -> None:
    site = seen(change(eeg()))  # type: ignore[operator]
    assert site.word == word and not site.fit
    assert site.advice.endswith(".")


def test_the_limits_are_the_clinics() -> None:
    strict = SignalContact(("C4",), SFREQ, ContactLimits(mains_uv=2.0))
    view = strict.feed((eeg() + sine(50.0, 4.0))[:, np.newaxis])
    assert view is not None and view.sites[0].word == "mains"
    assert seen(eeg() + sine(50.0, 4.0)).word == "quiet"


def test_where_the_amplifier_filters_mains_and_noise_they_are_unknown_and_not_small() -> None:
    spectrum = np.fft.rfft(eeg())
    freqs = np.fft.rfftfreq(N, 1 / SFREQ)
    spectrum[freqs > 28.0] = 0.0
    site = seen(np.fft.irfft(spectrum, N))
    assert site.mains_uv is None and site.noise_uv is None
    assert site.word == "quiet"


def test_it_is_marked_as_a_substitute_and_says_when_it_is_too_early() -> None:
    first = viewed(eeg()[: SFREQ + 10])
    assert first is not None and first.remark == SUBSTITUTE and first.seconds == 1.0
    assert first.sites[0].word == "too early" and not first.fit
    assert viewed(eeg()[: SFREQ - 1]) is None


def test_a_derived_signal_is_judged_as_the_difference_that_it_is() -> None:
    hum = sine(50.0, 40.0)
    both = np.stack([eeg() + hum, eeg(seed=6) + hum], axis=1)
    weights = np.array([[1.0], [-1.0]])
    view = SignalContact(("C4 - A1",), SFREQ, weights=weights).feed(both)
    assert view is not None and view.sites[0].word == "quiet"


def test_after_a_gap_it_begins_anew() -> None:
    contact = SignalContact(("C4",), SFREQ)
    contact.feed(eeg()[:, np.newaxis])
    contact.restart()
    view = contact.feed(eeg()[:SFREQ, np.newaxis])
    assert view is not None and view.seconds == 1.0


@settings(max_examples=25)
@given(cuts=st.lists(st.integers(0, N), max_size=20))
def test_any_chunking_gives_the_same_views(cuts: list[int]) -> None:
    samples = eeg()[:, np.newaxis]
    contact = SignalContact(("C4",), SFREQ)
    whole = SignalContact(("C4",), SFREQ)
    views = []
    edges = [0, *sorted(cuts), N]
    for first, last in pairwise(edges):
        view = contact.feed(samples[first:last])
        if view is not None:
            views.append(view)
    by_second = [whole.feed(samples[s * SFREQ : (s + 1) * SFREQ]) for s in range(12)]
    assert all(view in by_second for view in views)
    assert views[-1] == by_second[-1]


def test_samples_are_not_changed_and_missing_ones_do_no_harm() -> None:
    samples = eeg()[:, np.newaxis].copy()
    samples[700] = np.nan
    before = samples.copy()
    view = SignalContact(("C4",), SFREQ).feed(samples)
    np.testing.assert_array_equal(samples, before)
    assert view is not None and view.sites[0].word == "quiet"
