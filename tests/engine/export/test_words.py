"""Every event has words, and none of them names a person."""

from dataclasses import fields
from typing import Any, get_type_hints

import pytest

from engine.events import KINDS, TOPICS, Entry, Reason, State
from engine.export.words import allowed, listed, said

OF_TYPE: dict[Any, Any] = {
    int: 1,
    float: 2.5,
    str: "words",
    dict[str, Any]: {"client": "HERON-07"},
    State: State.OBSCURED,
    tuple[Reason, ...]: (Reason.FLAT, Reason.GUARD),
}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_event_has_words(kind: str) -> None:
    types = get_type_hints(KINDS[kind])
    event = KINDS[kind](**{field.name: OF_TYPE[types[field.name]] for field in fields(KINDS[kind])})
    named, text = said(event)
    assert named and text == text.strip() and "{" not in text


def test_of_a_visit_the_code_and_the_number_leave_and_nothing_else() -> None:
    visit = {"client": "HERON-07", "number": 4, "name": "A. Person", "medication": "none", "x": 1}
    assert said(Entry(0, 0.0, "visit", visit)) == ("visit", "visit: client HERON-07, number 4")


@pytest.mark.parametrize("topic", [topic for topic in TOPICS if topic != "visit"])
def test_what_names_a_person_stays_here_however_deep(topic: str) -> None:
    values = {
        "Birth date": "2001-02-03",
        "guardian": "B. Person",
        "sites": {"C4": 4.5, "second identifier": "7788"},
        "seen": [{"name": "C. Person", "what": "calm"}],
    }
    text = listed(allowed(topic, values))
    assert text == 'sites {"C4": 4.5}, seen [{"what": "calm"}]'
