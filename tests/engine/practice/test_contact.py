"""Impedances judged by rule: the limits of common practice, and what to do about each sensor."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.clinic import ContactLimits
from engine.practice.contact import Contact, ContactView, judge


def verdicts(view: ContactView) -> dict[str, str]:
    return {site.site: site.verdict.value for site in view.sites}


def advice(view: ContactView, site: str) -> str:
    return next(one.advice for one in view.sites if one.site == site)


@pytest.mark.parametrize(
    ("kohm", "verdict"),
    [
        (3.0, "good"),
        (5.0, "good"),
        (5.1, "usable"),
        (10.0, "usable"),
        (10.1, "too high"),
        (499.0, "too high"),
        (500.0, "not connected"),
        (math.inf, "not connected"),
        (0.1, "joined"),
        (0.0, "joined"),
        (None, "not measured"),
        (math.nan, "not measured"),
        (-1.0, "not measured"),
    ],
)
def test_one_sensor_is_at_most_10_kohm_and_better_5(kohm: float | None, verdict: str) -> None:
    """10 kΩ: ACNS Guideline 1, 2016, and common practice; 5 kΩ: older guidance."""
    view = judge({"C4": kohm})
    assert verdicts(view) == {"C4": verdict}
    assert view.fit == (verdict in ("good", "usable"))
    assert view.spread_kohm is None


def test_sensors_within_3_kohm_of_each_other_are_balanced() -> None:
    view = judge({"C4": 4.0, "A2": 7.0, "A1": 5.5})
    assert view.fit and view.spread_kohm == 3.0
    assert view.advice == "Every sensor sits well: go on."


def test_one_that_stands_more_than_3_kohm_above_the_lowest_is_named_with_it() -> None:
    view = judge({"C4": 4.0, "A2": 7.1, "A1": 4.5})
    assert verdicts(view) == {"C4": "good", "A2": "uneven", "A1": "good"}
    assert view.spread_kohm == pytest.approx(3.1)
    assert "within 3 kΩ of C4" in advice(view, "A2")
    assert view.advice == "Begin with A2."


def test_a_sensor_that_is_off_counts_for_no_spread() -> None:
    view = judge({"C4": 4.0, "A2": 5.0, "A1": 900.0})
    assert view.spread_kohm == 1.0
    assert "plug" in advice(view, "A1")


def test_a_shared_sensor_comes_first_and_all_bad_ones_point_to_it() -> None:
    both = judge({"C4": 20.0, "A2": 14.0, "A1": 3.0}, common=("A2", "A1"))
    assert both.advice == "Begin with A2, which every signal shares."
    whole = judge({"C4": 25.0, "A2": 22.0, "A1": 24.0}, common=("A2", "A1"))
    assert whole.advice == "All of them are off: begin with A2 and A1, which all share."


def test_far_too_high_is_taken_off_and_a_little_too_high_is_pressed() -> None:
    view = judge({"C4": 12.0, "C3": 60.0})
    assert advice(view, "C4").startswith("Press it down gently")
    assert advice(view, "C3").startswith("Take it off")


def test_nothing_typed_in_says_so_and_one_missing_is_named() -> None:
    assert judge({"C4": None, "A2": None}).advice.startswith("No impedance is known")
    half = judge({"C4": 3.0, "A2": None})
    assert not half.fit and half.advice == "Not measured yet: A2."
    assert not judge({}).fit


def test_a_clinic_with_a_high_impedance_amplifier_sets_its_own_limits() -> None:
    """Ferree et al. 2001: no change of band amplitude from 10 to 40 kΩ with such amplifiers."""
    limits = ContactLimits(most_kohm=40.0, better_kohm=20.0, spread_kohm=15.0)
    view = judge({"C4": 30.0, "A2": 18.0}, limits)
    assert verdicts(view) == {"C4": "usable", "A2": "good"}
    assert "20 kΩ" in advice(view, "C4")


@given(st.dictionaries(st.sampled_from(["C3", "C4", "Cz", "A1", "A2"]), st.floats(0.3, 400.0)))
def test_fit_is_exactly_the_rule(kohm: dict[str, float]) -> None:
    view = judge(kohm)
    spread = round(max(kohm.values(), default=0.0) - min(kohm.values(), default=0.0), 6)
    assert view.fit == (bool(kohm) and max(kohm.values()) <= 10.0 and spread <= 3.0)


@given(
    st.dictionaries(
        st.sampled_from(["C3", "C4", "A1", "A2"]), st.none() | st.floats(allow_nan=True)
    )
)
def test_every_sensor_gets_a_verdict_and_one_sentence(kohm: dict[str, float | None]) -> None:
    view = judge(kohm, common=("A1",))
    assert [site.site for site in view.sites] == list(kohm)
    for sentence in (view.advice, *(site.advice for site in view.sites)):
        assert sentence.endswith(".") and ". " not in sentence
    assert all(isinstance(site.verdict, Contact) for site in view.sites)
