"""Which stream is meant, and what is never guessed."""

from __future__ import annotations

import pytest

from engine.errors import ConfigError, SourceError
from engine.stream.discover import Wanted, choose, predicate_for, quoted, same_amplifier
from engine.stream.messages import Question
from engine.stream.metadata import Description
from tests.engine.stream.descriptions import stream

EEG = stream(source_id="amp-1", uid="a")
OTHER = stream(name="Second", source_id="amp-2", uid="b", hostname="room-2")
MARKERS = stream(name="Keys", kind="Markers", source_id="keys", uid="c")


def test_the_only_stream_of_the_type_is_meant() -> None:
    assert choose([MARKERS, EEG], Wanted()) == EEG
    assert choose([MARKERS, stream(kind="eeg")], Wanted()).kind == "eeg"  # type: ignore[union-attr]


def test_a_name_or_an_id_is_meant_whatever_its_type() -> None:
    assert choose([EEG, OTHER, MARKERS], Wanted(name="Second")) == OTHER
    assert choose([EEG, OTHER, MARKERS], Wanted(source_id="keys")) == MARKERS
    with pytest.raises(SourceError, match="named 'Second' with source_id 'amp-1'"):
        choose([EEG, OTHER], Wanted(name="Second", source_id="amp-1"))


def test_where_none_is_found_the_others_are_listed() -> None:
    with pytest.raises(SourceError, match=r"No stream of type EEG.*'Keys' \(Markers\)"):
        choose([MARKERS], Wanted())
    with pytest.raises(SourceError, match="no stream at all"):
        choose([], Wanted(name="Amplifier"))


@pytest.mark.parametrize("other", [OTHER, stream(source_id="amp-2", uid="b"), stream(source_id="")])
def test_several_streams_are_asked_about_even_with_one_name(other: Description) -> None:
    question = choose([EEG, other], Wanted())
    assert isinstance(question, Question)
    assert question.key == "source-id"
    assert set(question.choices) == {"amp-1", other.source_id or "(none)"}
    assert question.suggestion == ""
    for answer, meant in (("amp-1", EEG), (other.source_id or "(none)", other)):
        assert choose([EEG, other], Wanted(), answer) == meant


def test_an_answer_that_is_none_of_them_is_refused_and_they_are_listed() -> None:
    with pytest.raises(ConfigError, match="one of amp-1, amp-2"):
        choose([EEG, OTHER], Wanted(), "amp-3")
    with pytest.raises(ConfigError, match="one of amp-1"):
        choose([EEG], Wanted(), "amp-3")


@pytest.mark.parametrize("source_id", ["amp-1", ""])
def test_twins_are_refused_and_their_computers_named(source_id: str) -> None:
    one = stream(source_id=source_id, uid="a", hostname="room-1")
    two = stream(source_id=source_id, uid="b", hostname="room-2")
    for answer in ("", source_id):
        with pytest.raises(SourceError, match=r"2 outlets call themselves.*room-1, room-2"):
            choose([one, two], Wanted(), answer)


def test_a_lost_amplifier_is_known_by_its_id_and_never_by_its_name_alone() -> None:
    assert same_amplifier(EEG, stream(name="Renamed", source_id="amp-1", uid="z"))
    assert not same_amplifier(EEG, stream(source_id="amp-2"))
    nameless = stream(source_id="")
    assert same_amplifier(nameless, stream(source_id="", uid="z"))
    assert not same_amplifier(nameless, stream(source_id="", hostname="room-2"))
    assert not same_amplifier(nameless, stream(source_id="amp-1"))


def test_names_with_quotes_cannot_break_out_of_a_query() -> None:
    assert quoted("Anna's") == '"Anna\'s"'
    assert quoted('5" amp') == "'5\" amp'"
    assert quoted("'\"") is None
    assert predicate_for(stream(source_id="it's")) == 'source_id="it\'s"'
    assert predicate_for(stream(source_id="", name="'\"")) == "starts-with(name,'')"
