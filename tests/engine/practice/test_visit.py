"""A visit and what is asked before it."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import ConfigError
from engine.practice.screening import CAUTIONS, FIRST, TODAY, care_for, unanswered
from engine.practice.visit import Consent, FollowUp, Visit, visit_from, visit_id_for

words = st.text(max_size=12)
answers = st.dictionaries(words, words, max_size=3)
visits = st.builds(
    Visit,
    client=st.text(min_size=1, max_size=8),
    number=st.integers(1, 400),
    identifier=words,
    card=answers,
    child=st.booleans(),
    today=answers,
    screening=answers,
    consent=st.builds(
        Consent,
        given_by=st.sampled_from(["", "client", "guardian"]),
        assent=st.sampled_from([None, True, False]),
        cautions=st.lists(words, max_size=2).map(tuple),
    ),
    follow_ups=st.lists(st.builds(FollowUp, words, words, st.booleans()), max_size=2).map(tuple),
)


@given(visits)
def test_a_visit_comes_back_from_json_as_it_was(visit: Visit) -> None:
    assert visit_from(json.loads(json.dumps(visit.values()))) == visit


def test_what_an_earlier_or_later_program_wrote_is_read_too() -> None:
    assert visit_from({"client": "HERON-07"}) == Visit("HERON-07")
    assert visit_from({"client": "HERON-07", "number": None, "weather": "rain"}).number == 1


@pytest.mark.parametrize("values", [{}, {"client": "A", "consent": {"by_whom": "?"}}])
def test_what_is_no_visit_is_refused(values: dict[str, object]) -> None:
    with pytest.raises(ConfigError, match="visit"):
        visit_from(values)


def test_consent_needs_who_gave_it_when_and_the_child() -> None:
    own = Consent("client", acknowledged_utc="2026-11-26T08:00:00+00:00", by="MK")
    assert own.complete
    assert not replace(own, by="").complete
    assert not replace(own, acknowledged_utc="").complete
    assert not replace(own, given_by="guardian").complete
    assert not replace(own, given_by="guardian", assent=False).complete
    assert replace(own, given_by="guardian", assent=True).complete


def test_every_question_has_a_care_and_what_is_unknown_is_not_safe() -> None:
    assert care_for({asked.key: "no" for asked in FIRST}) == ()
    (said,) = care_for({"seizures": "yes"})
    assert said.startswith("seizures: ") and "physician" in said
    assert len(care_for({asked.key: "not known" for asked in FIRST})) == len(FIRST)
    assert unanswered({"seizures": "no"}) == tuple(a.key for a in FIRST if a.key != "seizures")


def test_what_has_to_be_asked_is_asked() -> None:
    # common practice before a first session, and at every visit
    assert {a.key for a in FIRST} >= {
        "seizures", "light", "psychosis", "mania", "dissociation", "head_injury", "medication",
        "skin",
    }  # fmt: skip
    assert [t.key for t in TODAY] == ["effects", "seizures", "medication", "caffeine", "sleep"]
    assert any("licensed" in caution for caution in CAUTIONS)


def test_a_visit_has_an_id_of_its_own() -> None:
    now = datetime(2026, 11, 26, 8, 0, 5, tzinfo=UTC)
    assert visit_id_for("HERON-07", now) == "20261126-080005-HERON-07"
