"""Labels that the operator supplies where the stream has none."""

from __future__ import annotations

import pytest

from engine.errors import ConfigError
from engine.stream.labels import ask_labels, read_labels, wanted_label
from tests.engine.stream.descriptions import stream

NONE = ("", "", "")


@pytest.mark.parametrize(
    ("text", "given", "labels"),
    [
        ("C3, C4,Cz", NONE, ("C3", "C4", "Cz")),
        ("C4=3", NONE, ("1", "2", "C4")),
        ("C4 = 3, A1=1", NONE, ("A1", "2", "C4")),
        ("C4", ("",), ("C4",)),
        ("Cz=2", ("C3", "", "C4"), ("C3", "Cz", "C4")),
    ],
)
def test_labels_are_read_in_order_or_by_place(
    text: str, given: tuple[str, ...], labels: tuple[str, ...]
) -> None:
    assert read_labels(text, given) == labels


@pytest.mark.parametrize(
    "text", ["", "C3", "C3,C4", "C3,,C4", "C3,C3,C4", "C4=0", "C4=4", "C4=x", "=1", "C3,C4=2,Cz"]
)
def test_an_answer_that_does_not_fit_is_refused_and_the_option_named(text: str) -> None:
    with pytest.raises(ConfigError, match="3 different labels"):
        read_labels(text, NONE)


def test_a_place_may_not_take_a_label_that_another_channel_has() -> None:
    with pytest.raises(ConfigError, match="--channel"):
        read_labels("C3=2", ("C3", ""))


def test_the_question_says_how_many_labels_are_missing() -> None:
    question = ask_labels(stream(labels=("C3",), units=()))
    assert question.key == "channel"
    assert "no label for 1 of its 2 channels" in question.text
    alone = ask_labels(stream(labels=(), units=(), n_channels=1))
    assert "write its label, such as C4" in alone.text


def test_the_wanted_label_is_read_out_of_either_form() -> None:
    assert wanted_label("C4") == "C4"
    assert wanted_label("C4=3") == "C4"
    assert wanted_label(" C4 - A1 ") == "C4 - A1"
    assert wanted_label("C4=3, A1=1") is None
    assert wanted_label("C3, C4, Cz") is None
