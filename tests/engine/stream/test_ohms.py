"""Impedances by label and unit: what amplifiers write, and what is never guessed."""

from __future__ import annotations

import math

import numpy as np
import pytest

from engine.stream.ohms import (
    by_site,
    kohm_per,
    ohm_channels,
    ohm_channels_beside_eeg,
    sensor_of,
)
from engine.stream.units import Units, resolve_units
from tests.engine.stream.descriptions import stream


@pytest.mark.parametrize(
    ("unit", "factor"),
    [
        ("Ohm", 0.001),
        ("ohms", 0.001),
        ("Ω", 0.001),  # Greek capital omega, U+03A9
        ("\u2126", 0.001),  # ohm sign
        ("kOhm", 1.0),
        ("kΩ", 1.0),
        ("k\u2126", 1.0),
        ("k Ohm", 1.0),
        ("kiloohms", 1.0),
        ("MOhm", 1000.0),
        ("", None),
        ("microvolts", None),
        ("counts", None),
    ],
)
def test_a_unit_of_resistance_has_its_factor_and_any_other_none(
    unit: str, factor: float | None
) -> None:
    assert kohm_per(unit) == factor


@pytest.mark.parametrize(
    ("label", "sensor"),
    [
        ("C4", "c4"),
        ("EEG C4", "c4"),
        ("Z C4", "c4"),
        ("C4 impedance", "c4"),
        ("Imp_C4 [kOhm]", "c4"),
        ("imp: T3", "t7"),
        ("C4-Ref", "c4"),
        ("Oz", "oz"),
        ("Fz", "fz"),
        ("REF", "reference"),
        ("GND", "ground"),
        ("Ground (kOhm)", "ground"),
    ],
)
def test_a_label_names_its_sensor_with_or_without_a_word_beside_it(label: str, sensor: str) -> None:
    assert sensor_of(label) == sensor


def test_ohms_and_kilo_ohms_come_to_the_same_number() -> None:
    channels = ohm_channels(("C4", "A2", "GND"), ("Ohm", "kOhm", "Ohm"))
    assert channels.read([4200.0, 4.2, 3100.0]) == {"c4": 4.2, "a2": 4.2, "ground": 3.1}


def test_a_missing_unit_is_taken_from_the_label_then_from_the_clinic_and_never_guessed() -> None:
    labels = ("C4 [kOhm]", "A2")
    assert ohm_channels(labels, ("", "")).unknown == ("A2",)
    assert ohm_channels(labels, ("", ""), "ohm").places == {"c4": (0, 1.0), "a2": (1, 0.001)}


def test_what_was_not_measured_is_none_and_an_open_sensor_is_infinite() -> None:
    channels = ohm_channels(("C4", "A2", "A1"), ("kOhm",) * 3)
    assert channels.read([math.nan, -1.0, math.inf]) == {"c4": None, "a2": None, "a1": math.inf}


def test_beside_the_eeg_only_channels_in_ohms_are_impedances() -> None:
    found = ohm_channels_beside_eeg(("C4", "A1", "Z C4"), ("microvolts", "microvolts", "kOhm"))
    assert found.places == {"c4": (2, 1.0)}


def test_sites_are_found_by_either_name_and_by_their_part_in_the_protocol() -> None:
    kohm: dict[str, float | None] = {"t7": 4.0, "reference": 5.0, "ground": None}
    assert by_site(kohm, ("T3", "A2", "A1"), reference="A2", ground="A1") == {
        "T3": 4.0,
        "A2": 5.0,
        "A1": None,
    }


def test_an_impedance_beside_the_eeg_is_not_asked_for_a_unit_of_volts() -> None:
    labels = ("C4", "Z C4")
    described = stream(labels=labels, units=("microvolts", "kOhm"), kinds=("EEG", ""))
    units = resolve_units(described, labels, np.array([15.0, 0.0]), "")
    assert isinstance(units, Units)
    assert units.to_uv == (1.0, 1.0) and units.kept == ("Z C4",)
