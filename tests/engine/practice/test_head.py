import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import ConfigError
from engine.practice.head import Head, head_from, measured
from engine.practice.sites import MIDWAYS, SPANS

FULL = measured(
    "in",
    14.2,
    13.4,
    22.0,
    preauricular_halves=(6.8, 6.6),
    circumference_halves=(11.0, 11.0),
    spans={"F7-Fz": 4.4, "Pz-P7": 4.5},
    apart={"F3": 0.0, "P3": 0.2},
    measured_on="2026-11-12",
)
LENGTHS = st.floats(0.1, 78.0)
HALVES = st.none() | st.tuples(LENGTHS, LENGTHS)
HEADS = st.builds(
    measured,
    st.sampled_from(["cm", "in"]),
    LENGTHS,
    LENGTHS,
    LENGTHS,
    preauricular_halves=HALVES,
    circumference_halves=HALVES,
    spans=st.dictionaries(st.sampled_from(SPANS), LENGTHS),
    apart=st.dictionaries(st.sampled_from(MIDWAYS), LENGTHS),
)


@given(HEADS)
def test_a_head_comes_back_from_json(head: Head) -> None:
    assert head_from(json.loads(json.dumps(head.values()))) == head


def test_all_that_was_measured_is_kept() -> None:
    assert head_from(FULL.values()) == FULL
    assert FULL.unit == "in" and FULL.measured_on == "2026-11-12"
    assert FULL.span("Fz-F7") == pytest.approx(4.4 * 2.54)
    assert FULL.span("C3-Fp1") is None
    assert (FULL.apart("F3"), FULL.apart("F4")) == (0.0, None)


def test_a_span_may_be_named_from_either_end_and_by_either_name() -> None:
    for name in ("Pz-T5", "P7-Pz", "pz - p7", "T5–Pz"):
        head = measured("cm", 36, 34, 56, spans={name: 11.0})
        assert head.spans_cm == (("Pz-T5", 11.0),)


@pytest.mark.parametrize("name", ["F7-F8", "F7", "Fz-", "F7-Fz-C3", ""])
def test_other_spans_are_refused(name: str) -> None:
    with pytest.raises(ConfigError, match=r"span is .*Fz-F7"):
        measured("cm", 36, 34, 56, spans={name: 11.0})


def test_only_a_midway_has_two_marks() -> None:
    with pytest.raises(ConfigError, match="apart is 'C3', but one of F3, F4, P3, P4"):
        measured("cm", 36, 34, 56, apart={"C3": 1.0})


def test_a_wrong_half_is_named() -> None:
    with pytest.raises(ConfigError, match="preauricular, right is -1"):
        measured("cm", 36, 34, 56, preauricular_halves=(17.0, -1.0))


@pytest.mark.parametrize(
    "damage",
    [
        {"nasion_inion_cm": "long"},
        {"circumference_cm": None},
        {"spans_cm": [1.0]},
        {"preauricular_halves_cm": [17.0]},
        {"preauricular_cm": -34.0},
        {"unit": "ell"},
    ],
)
def test_what_is_no_head_is_refused(damage: dict[str, object]) -> None:
    with pytest.raises(ConfigError):
        head_from({**FULL.values(), **damage})
    with pytest.raises(ConfigError, match="head is"):
        head_from({})


def test_a_head_of_the_three_lengths_alone_is_enough() -> None:
    lengths = {"nasion_inion_cm": 36.0, "preauricular_cm": 34.0, "circumference_cm": 56.0}
    assert head_from(lengths) == Head(36.0, 34.0, 56.0)
    assert replace(Head(36.0, 34.0, 56.0), unit="in") != Head(36.0, 34.0, 56.0)
