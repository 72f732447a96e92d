"""Every event survives the way into a recording, a pipe or a marker stream, and back."""

import json
from dataclasses import fields
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine import events
from engine.events import KINDS, Event, Reason, State, StateChanged, from_record, to_record

VALUES: dict[str, st.SearchStrategy[Any]] = {
    "int": st.integers(0, 2**53),
    "float": st.floats(allow_nan=False, allow_infinity=False),
    "str": st.text(),
    "dict[str, Any]": st.dictionaries(st.text(), st.none() | st.booleans() | st.text()),
    "State": st.sampled_from(State),
    "tuple[Reason, ...]": st.lists(st.sampled_from(Reason)).map(tuple),
}


@st.composite
def anything_that_happens(draw: st.DrawFn) -> Event:
    kind = draw(st.sampled_from(list(KINDS.values())))
    return kind(**{f.name: draw(VALUES[str(f.type)]) for f in fields(kind)})  # type: ignore[no-any-return]


@given(anything_that_happens())
def test_an_event_comes_back_from_json_as_it_went(event: Event) -> None:
    values = to_record(event)
    assert values["kind"] == type(event).__name__
    assert from_record(json.loads(json.dumps(values))) == event


def test_every_kind_of_event_can_be_recorded() -> None:
    listed = set(get_args(events.Input)) | set(get_args(events.Output))
    assert listed | set(get_args(events.SessionEvent)) == set(KINDS.values())


def test_a_record_holds_names_and_not_positions() -> None:
    change = StateChanged(3, 14, 0.3, State.OBSCURED, (Reason.BLINK, Reason.AMPLITUDE))
    assert to_record(change) == {
        "kind": "StateChanged",
        "tick": 3,
        "sample": 14,
        "onset_s": 0.3,
        "state": "OBSCURED",
        "reasons": ["BLINK", "AMPLITUDE"],
    }


def test_rebuilding_leaves_the_record_as_it_was() -> None:
    values = to_record(StateChanged(3, 14, 0.3, State.QUIET))
    before = dict(values)
    from_record(values)
    assert values == before


def test_an_unknown_kind_is_an_error() -> None:
    with pytest.raises(KeyError, match="Rumour"):
        from_record({"kind": "Rumour", "sample": 3})
