"""The parts of a visit: what is chosen, when a recording of its own begins, and what it carries."""

from pathlib import Path

import pytest

from engine.events import Entry, HoldOff, RoundStop, SegmentStart
from engine.session.asks import (
    AskBegin,
    AskEntry,
    AskMark,
    AskNudge,
    AskQuit,
    AskRound,
)
from engine.session.messages import Reception, Remark
from engine.session.operator import NEXT_CLIENT
from engine.session.recording_reader import read_session
from engine.session.shelf import cut_off
from engine.stream.messages import Segment
from tests.engine.session.room import CLIENT, DESK, Room

VISIT = {"client": "HERON-07", "operator": "AB", "number": 4}


@pytest.fixture
def room(tmp_path: Path) -> Room:
    room = Room(tmp_path)
    room.ready(DESK)
    room.ready(CLIENT)
    return room


def remarks(room: Room) -> list[str]:
    return [remark.text for remark in room.told(DESK, Remark)]


def test_a_desk_that_is_to_choose_opens_no_stream_before(tmp_path: Path) -> None:
    room = Room(tmp_path, protocol=None)
    room.ready(DESK)
    assert not room.conductor.chosen
    room.conductor.asked(AskBegin("smr-up-c4", visit=VISIT))
    assert room.conductor.chosen
    room.opened()
    room.data(1.0)
    room.parts.close(room.clock(), "done")
    visit, *_ = [e for e in read_session(room.parts.paths[0]).events() if isinstance(e, Entry)]
    assert (visit.topic, visit.values, visit.by) == ("visit", VISIT, "AB")


def test_a_protocol_that_is_not_there_is_refused_in_a_sentence(room: Room) -> None:
    room.opened()
    room.conductor.asked(AskBegin("nothing", visit=VISIT))
    assert remarks(room) == [
        "protocol is 'nothing', but one of smr-up-c4, longer-hold is accepted."
    ]
    assert room.parts.visit == {}


def test_another_protocol_gets_a_recording_of_its_own_on_the_same_stream(room: Room) -> None:
    room.opened()
    room.conductor.asked(AskBegin("smr-up-c4", visit=VISIT))
    room.data(3.0)
    room.conductor.asked(AskBegin("longer-hold", visit=VISIT))
    room.data(2.0)
    room.parts.close(room.clock(), "done")
    first, second = (read_session(path) for path in room.parts.paths)
    assert (first.n_samples, second.n_samples) == (750, 500)
    assert first.ended == "went on with Longer"
    assert second.protocol.hold_s == 0.75
    assert next(e for e in second.events() if isinstance(e, SegmentStart)).start_s == 0.0
    for session in (first, second):
        visits = [e for e in session.events() if isinstance(e, Entry) and e.topic == "visit"]
        assert [visit.values for visit in visits] == [VISIT]


def test_a_gap_after_a_change_counts_from_the_part_it_is_in(room: Room) -> None:
    room.opened()
    room.data(3.0)
    room.conductor.asked(AskBegin("longer-hold"))
    room.data(2.0)
    room.conductor.source_said(Segment(6.0, "gap"))
    assert room.live.lost_samples == 250
    assert room.live.pipeline.time_s == pytest.approx(3.0)


def test_what_holds_points_off_holds_them_off_in_the_next_part(room: Room) -> None:
    room.opened()
    room.gone(CLIENT)
    room.conductor.asked(AskBegin("longer-hold"))
    room.data(1.0)
    room.parts.close(room.clock(), "done")
    held = [e.why for e in read_session(room.parts.paths[1]).events() if isinstance(e, HoldOff)]
    assert held == ["the client display is gone"]


def test_another_site_that_the_stream_lacks_changes_nothing(room: Room) -> None:
    room.opened()
    before = room.live
    room.conductor.asked(AskBegin("smr-up-c4", site="XX"))
    assert room.live is before
    assert "XX" in remarks(room)[0]


def test_another_client_is_not_written_into_an_open_session(room: Room) -> None:
    room.opened()
    room.conductor.asked(AskBegin("smr-up-c4", visit=VISIT))
    room.conductor.asked(AskBegin("smr-up-c4", visit={"client": "WREN-02"}))
    assert remarks(room) == [
        "client is 'WREN-02', but the session of HERON-07 is open; close that first, with the "
        "next client."
    ]
    assert room.parts.visit == VISIT


def test_the_desk_is_told_of_the_visit_and_again_when_it_comes_back(room: Room) -> None:
    room.opened()
    room.conductor.asked(AskBegin("smr-up-c4", visit=VISIT))
    assert room.told(DESK, Reception)[-1].visit == VISIT
    room.gone(DESK)
    room.ready(DESK)
    assert room.told(DESK, Reception)[-1].visit == VISIT


def test_an_adverse_effect_stops_the_reward_and_is_written_down(room: Room) -> None:
    room.opened()
    room.conductor.asked(AskRound("start"))
    room.data(1.0)
    room.conductor.asked(AskMark("adverse"))
    assert room.live.rounds.phase == "ready"
    assert room.told(DESK, RoundStop)[-1].why == "adverse effect"
    assert room.told(DESK, Entry)[-1].topic == "adverse"


def test_an_entry_on_nothing_known_is_refused(room: Room) -> None:
    room.opened()
    room.conductor.asked(AskEntry("weather", {"rain": True}))
    assert remarks(room)[0].startswith("topic is 'weather', but one of visit, head")


def test_what_is_written_before_the_stream_is_in_the_recording_and_the_head_in_every_part(
    tmp_path: Path,
) -> None:
    room = Room(tmp_path, protocol=None)
    room.ready(DESK)
    room.ready(CLIENT)
    head = {"nasion_inion_cm": 36.0}
    room.conductor.asked(AskEntry("head", head))
    room.conductor.asked(AskEntry("plan", {"next": "same again"}))
    room.conductor.asked(AskBegin("smr-up-c4", visit=VISIT))
    room.opened()
    room.data(1.0)
    room.conductor.asked(AskBegin("longer-hold", visit=VISIT))
    room.data(1.0)
    room.parts.close(room.clock(), "done")
    first, second = (
        [e.topic for e in read_session(path).events() if isinstance(e, Entry)]
        for path in room.parts.paths
    )
    assert first == ["visit", "head", "plan"]
    assert second == ["visit", "head"]


def test_the_next_client_ends_the_session_for_the_desk_to_open_again(room: Room) -> None:
    room.opened()
    room.conductor.asked(AskQuit(next_client=True))
    assert room.conductor.over == NEXT_CLIENT


def test_going_on_after_a_crash_begins_where_the_settings_were_and_closes_the_old_one(
    tmp_path: Path,
) -> None:
    crashed = Room(tmp_path)
    crashed.ready(DESK)
    crashed.ready(CLIENT)
    crashed.opened()
    crashed.conductor.asked(AskBegin("smr-up-c4", visit=VISIT))
    crashed.conductor.asked(AskNudge("smr.threshold", "key", steps=-2))
    crashed.data(2.0)
    assert crashed.live.recording.flush()
    path = crashed.live.recording.path
    assert path is not None
    crashed.live.recording.close()  # nothing says that the session ended

    room = Room(tmp_path, protocol=None)
    room.ready(DESK)
    room.ready(CLIENT)
    (cut,) = cut_off(tmp_path)
    room.conductor.asked(AskBegin("", visit=cut.visit, go_on_from=str(cut.path)))
    room.opened()
    room.data(1.0)
    room.parts.close(room.clock(), "done")
    assert cut_off(tmp_path) == ()
    assert read_session(path).ended == "closed after a crash"
    begun = read_session(room.parts.paths[0])
    assert begun.protocol.conditions[1].threshold_uv == pytest.approx(3.8)
    assert next(e for e in begun.events() if isinstance(e, Entry)).values == VISIT
