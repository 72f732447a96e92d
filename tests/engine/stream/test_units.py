"""Units: read, asked for, and contradicted by the signal's size."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from engine.chunk import Floats
from engine.errors import ConfigError
from engine.stream.messages import Question
from engine.stream.units import (
    Units,
    factor_of,
    factor_of_answer,
    is_plausible,
    resolve_units,
    spread_of,
    suggested_unit,
)
from tests.engine.stream.descriptions import stream

EEG_UV = np.array([12.0, 20.0])


def noise_uv(seconds: float = 4, sfreq: float = 250.0) -> Floats:
    """Noise of 20 µV RMS from 4 to 25 Hz, (n_samples, 2)."""
    rng = np.random.default_rng(1)
    sos = signal.butter(4, (4, 25), "bandpass", fs=sfreq, output="sos")
    samples = signal.sosfiltfilt(sos, rng.standard_normal((round(seconds * sfreq), 2)), axis=0)
    scaled: Floats = 20 * samples / samples.std(axis=0)
    return scaled


@pytest.mark.parametrize(
    ("unit", "factor"),
    [("V", 1e6), ("mV", 1e3), ("µV", 1), ("μV", 1), ("uV", 1), (" microvolts ", 1), ("-6", 1)],
)
def test_units_are_read_in_every_usual_spelling(unit: str, factor: float) -> None:
    assert factor_of(unit) == factor


@pytest.mark.parametrize("unit", ["", "none", "0", "counts", "g", "kOhm"])
def test_what_is_no_unit_of_voltage_is_not_guessed(unit: str) -> None:
    assert factor_of(unit) is None


def test_an_answer_may_be_a_unit_or_the_size_of_one_count() -> None:
    assert factor_of_answer("µV") == 1.0
    assert factor_of_answer(" mv ") == 1e3
    assert factor_of_answer("0.0224 µV") == pytest.approx(0.0224)
    assert factor_of_answer("2.24e-8V") == pytest.approx(0.0224)


@pytest.mark.parametrize("answer", ["", "volts please", "0 µV", "-1 µV", "12", "1e999 V", "nan µV"])
def test_an_answer_that_is_none_is_refused_and_the_option_named(answer: str) -> None:
    with pytest.raises(ConfigError, match="--unit"):
        factor_of_answer(answer)


def test_the_spread_sees_neither_offset_nor_mains_nor_a_single_blink() -> None:
    samples = noise_uv()
    clean = spread_of(samples, 250.0)
    assert clean == pytest.approx([20, 20], rel=0.1)
    t = np.arange(samples.shape[0])[:, np.newaxis] / 250
    dirty = samples + 100_000 + 50 * np.sin(2 * np.pi * 60 * t)
    dirty[400:450] += 300
    assert spread_of(dirty, 250.0) == pytest.approx(clean, rel=0.5)
    assert spread_of(np.full((500, 2), 7.0), 250.0) == pytest.approx([0, 0], abs=1e-9)


def test_the_spread_survives_missing_values_and_whole_numbers() -> None:
    samples = noise_uv()
    samples[100:120] = np.nan
    assert np.isfinite(spread_of(samples, 250.0)).all()
    assert spread_of(np.round(noise_uv()).astype(np.int16), 250.0)[0] == pytest.approx(20, rel=0.1)


@pytest.mark.parametrize(
    ("spread", "unit"),
    [(15.0, "µV"), (0.015, "mV"), (15e-6, "V"), (2.0, "µV"), (300.0, "µV"), (0.0, ""), (1e5, "")],
)
def test_the_size_suggests_a_unit(spread: float, unit: str) -> None:
    assert suggested_unit(spread) == unit


def test_only_orders_of_magnitude_contradict_a_unit() -> None:
    assert all(is_plausible(size) for size in (0.0, 0.2, 15.0, 800.0))
    assert not any(is_plausible(size) for size in (0.02, 15e3, 15e6))


def test_known_units_are_taken_without_a_question() -> None:
    found = resolve_units(stream(units=("mV", "mV")), ("C3", "C4"), EEG_UV / 1e3, "")
    assert found == Units(("mV", "mV"), (1e3, 1e3))


def test_a_missing_unit_is_asked_with_what_the_size_suggests() -> None:
    found = resolve_units(stream(units=()), ("C3", "C4"), EEG_UV * 1e-6, "")
    assert isinstance(found, Question)
    assert (found.key, found.choices, found.suggestion) == ("unit", ("V", "mV", "µV"), "V")
    assert "states no unit for C3, C4 (its size suggests V)" in found.text


def test_an_unknown_unit_is_asked_by_name() -> None:
    found = resolve_units(stream(units=("counts", "µV")), ("C3", "C4"), EEG_UV, "")
    assert isinstance(found, Question)
    assert "states 'counts' for C3, which is no unit that is known" in found.text


def test_a_unit_that_the_size_contradicts_is_asked_and_never_corrected_silently() -> None:
    found = resolve_units(stream(units=("V", "V")), ("C3", "C4"), EEG_UV, "")
    assert isinstance(found, Question)
    assert found.suggestion == "µV"
    assert "states V for C3, C4, which makes no sense" in found.text


def test_a_bad_contact_alone_raises_no_question_about_units() -> None:
    five = ("C3", "C4", "Cz")
    noisy = stream(labels=five, units=("µV",) * 3, n_channels=3)
    found = resolve_units(noisy, five, np.array([15.0, 9000.0, 12.0]), "")
    assert isinstance(found, Units)


def test_an_answer_counts_for_the_channels_in_question_alone() -> None:
    found = resolve_units(stream(units=("", "µV")), ("C3", "C4"), EEG_UV, "mV")
    assert found == Units(("mV", "µV"), (1e3, 1.0), answered=True)
    ignored = resolve_units(stream(), ("C3", "C4"), EEG_UV, "V")
    assert isinstance(ignored, Units)
    assert ignored.to_uv == (1.0, 1.0)
    assert not ignored.answered


def test_the_flat_signal_of_an_amplifier_without_sensors_says_nothing_about_units() -> None:
    assert isinstance(resolve_units(stream(), ("C3", "C4"), np.zeros(2), ""), Units)


def test_a_channel_of_another_kind_is_kept_as_it_is() -> None:
    mixed = stream(kinds=("EEG", "TRG"), units=("µV", "none"), labels=("C3", "Trigger"))
    found = resolve_units(mixed, ("C3", "Trigger"), np.array([15.0, 1e6]), "")
    assert found == Units(("µV", "none"), (1.0, 1.0), kept=("Trigger",))
