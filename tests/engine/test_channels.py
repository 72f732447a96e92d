"""Labels as real streams write them, and the channel that each request must find."""

from __future__ import annotations

import numpy as np
import pytest

from engine.channels import match_channel, parse_montage, read_label
from engine.errors import ConfigError

PADDED = ("Fc5.", "C3..", "Cz..", "C4..", "T7..", "Iz..")
EDF = ("EEG Fp1-Ref", "EEG C3-Ref", "EEG C4-Ref", "EEG A1-Ref", "ECG")


@pytest.mark.parametrize(
    ("wanted", "ch_names", "index"),
    [
        ("C4", ("C3", "C4"), 1),
        ("c4", ("C3", "C4"), 1),
        ("C4", ("EEG C3", "EEG C4"), 1),
        ("C4", PADDED, 3),
        ("C4", ("C3-A2", "C4-A1"), 1),
        ("C4", EDF, 2),
        ("C4", ("C4", "EEG C4", "C4-A1"), 0),
        ("EEG C4", ("C3", "C4"), 1),
        ("C4-A1", ("C4-A1", "C4-A2"), 0),
        ("C4 – A1", ("EEG C4-A1", "EEG C4-A2"), 0),
        ("T3", PADDED, 4),
        ("T4", ("T7", "T8"), 1),
        ("P7", ("T5", "T6"), 0),
        ("T6", ("P7", "P8"), 1),
        ("T3", ("T7", "T3"), 1),
        ("C4", ("c4", "C4"), 1),
        ("7", ("6", "7"), 1),
    ],
)
def test_a_site_is_found_under_the_label_that_can_mean_it(
    wanted: str, ch_names: tuple[str, ...], index: int
) -> None:
    assert match_channel(wanted, ch_names) == index


@pytest.mark.parametrize(
    ("wanted", "ch_names", "named"),
    [
        ("C4", ("EEG C4", "C4-A1"), ("'EEG C4'", "'C4-A1'")),
        ("C4", ("C4-A1", "C4-A2"), ("'C4-A1'", "'C4-A2'")),
        ("T3", ("EEG T3", "EEG T7"), ("'EEG T3'", "'EEG T7'")),
        ("c4", ("C4 ", "C4"), ("'C4 '", "'C4'")),
    ],
)
def test_several_candidates_are_asked_about_by_name(
    wanted: str, ch_names: tuple[str, ...], named: tuple[str, ...]
) -> None:
    with pytest.raises(ConfigError, match="all fit") as error:
        match_channel(wanted, ch_names)
    assert all(name in str(error.value) for name in named)
    assert str(error.value).count("\n") == 0


@pytest.mark.parametrize("wanted", ["C", "C44", "", "FC4", "A1", "EEG", "-"])
def test_a_site_that_is_not_there_is_refused_and_the_labels_are_listed(wanted: str) -> None:
    with pytest.raises(ConfigError, match="'C3', 'C4'"):
        match_channel(wanted, ("C3", "C4"))


def test_a_derivation_is_not_found_under_its_reference() -> None:
    with pytest.raises(ConfigError, match="a label of the stream"):
        match_channel("A1", ("C3-A1", "C4-A1"))


def test_labels_are_taken_apart() -> None:
    assert read_label("EEG T4-A1 ") == ("t8", "a1")
    assert read_label("Fc5.") == ("fc5", "")
    assert read_label("EEG C4 - REF").text == "c4-ref"


@pytest.mark.parametrize(
    ("montage", "ch_names", "weights"),
    [
        ("C4", ("C3", "C4"), [0, 1]),
        ("C4 - A1", ("A1", "C3", "C4"), [-1, 0, 1]),
        ("C4-A1", ("A1", "C3", "C4"), [-1, 0, 1]),
        ("c4 − a1", ("EEG A1", "EEG C4"), [-1, 1]),
        ("C4 - A1", EDF, [0, 0, 1, -1, 0]),
        ("C4 - A1", ("C4-A1", "C4", "A1"), [1, 0, 0]),
        ("C4-A1", ("EEG C4-A1", "EEG C4-A2"), [1, 0]),
        ("T4 - T3", ("T7", "T8"), [-1, 1]),
        ("C4-A1 - C3-A1", ("C4-A1", "C3-A1"), [1, -1]),
        ("C4-A1 - C3-A2", ("C4-A1", "C3-A2"), [1, -1]),
        ("X-1-X-2", ("X-1", "X-2"), [1, -1]),
    ],
)
def test_a_montage_becomes_one_weight_a_channel(
    montage: str, ch_names: tuple[str, ...], weights: list[float]
) -> None:
    assert np.array_equal(parse_montage(montage, ch_names), weights)


def test_a_difference_of_labels_with_unlike_references_is_refused() -> None:
    with pytest.raises(ConfigError, match="different references"):
        parse_montage("C4 - C3", ("C4-A1", "C3-A2"))


def test_a_difference_of_one_channel_with_itself_is_refused() -> None:
    with pytest.raises(ConfigError, match="the difference of two channels"):
        parse_montage("T3 - T7", ("T7", "T8"))


def test_a_missing_half_is_named() -> None:
    with pytest.raises(ConfigError, match="channel is 'A1'"):
        parse_montage("C4 - A1", ("C3", "C4"))
