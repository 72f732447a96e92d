"""The host's side of a session with windows, without processes: what is said, and what follows."""

from pathlib import Path

import numpy as np
import pytest

from engine.errors import SourceError
from engine.events import (
    HoldOff,
    HoldOffEnd,
    Note,
    Nudge,
    PointEarned,
    RoundStart,
    RoundStop,
    WindowLost,
    WindowReturned,
)
from engine.session.asks import AskAnswer, AskClient, AskNote, AskNudge, AskQuit, AskRound
from engine.session.audience import REMEMBERED_S
from engine.session.children import WindowGivenUp
from engine.session.messages import Batch, ClientControl, ClientFrame, Hello, Remark, Status
from engine.stream.messages import Data, Ended, Lost, Question
from tests.engine.session.examples import INFO, PROTOCOL, chunks_of, rhythm
from tests.engine.session.room import CLIENT, DESK, Room


@pytest.fixture
def room(tmp_path: Path) -> Room:
    return Room(tmp_path)


def test_a_desk_is_greeted_and_hears_every_event_once(room: Room) -> None:
    room.ready(DESK)
    room.ready(CLIENT)
    room.opened()
    room.conductor.asked(AskRound("start"))
    room.data(30.0)
    (hello,) = room.told(DESK, Hello)
    assert (hello.protocol, hello.info, hello.title) == (PROTOCOL, INFO, "a title")
    assert [response.label for response in hello.responses] == ["theta", "SMR"]
    points = room.told(DESK, PointEarned)
    assert points
    assert points == room.live.points
    assert room.told(DESK, RoundStart, RoundStop)[0] == RoundStart(0, 1)


def test_the_desk_gets_every_tick_and_all_of_the_trace(room: Room) -> None:
    room.ready(DESK)
    room.opened()
    room.data(10.0)
    room.audience.pictures(room.clock.now + 1)
    batches = room.told(DESK, Batch)
    ticks = [tick for batch in batches for tick in batch.ticks]
    assert [tick.tick for tick in ticks] == list(range(500))
    trace = np.concatenate([batch.trace_uv for batch in batches])
    assert np.array_equal(trace, room.live.pipeline.trace.since(0).samples)
    assert batches[-1].trace_end_s == ticks[-1].time_s
    assert len(batches) >= 250


def test_a_desk_that_comes_back_is_shown_the_last_minute(room: Room) -> None:
    room.ready(DESK)
    room.opened()
    room.data(70.0)
    room.gone(DESK)
    room.data(5.0)
    room.windows.sent.clear()
    room.ready(DESK)
    room.audience.pictures(room.clock.now + 1)
    (batch,) = room.told(DESK, Batch)
    assert len(batch.ticks) == round(REMEMBERED_S / room.live.pipeline.plan.tick_s)
    assert batch.ticks[-1] == room.live.last_tick
    assert batch.lost_samples == 0
    assert room.told(DESK, Hello)


def test_status_comes_ten_times_a_second_and_tells_the_moment(room: Room) -> None:
    room.ready(DESK)
    room.ready(CLIENT)
    room.opened()
    room.conductor.asked(AskRound("start"))
    room.windows.sent.clear()
    room.data(5.0)
    told = room.told(DESK, Status)
    assert 40 <= len(told) <= 50
    status = told[-1]
    assert (status.phase, status.round_number, status.round_length_s) == ("training", 1, 10.0)
    assert status.round_elapsed_s == pytest.approx(5.0, abs=0.1)
    assert status.phase_left_s == pytest.approx(5.0, abs=0.1)
    assert status.ceiling == 40.0
    assert (status.stream_ok, status.measured_sfreq) == (True, 250.1)
    assert (status.recording_ok, status.client_shown, status.holds_off) == (True, True, ())
    assert room.live.recording.flush()
    room.audience.tell_status()
    assert room.told(DESK, Status)[-1].saved_s == 5.0


def test_a_client_display_hears_frames_and_controls_and_nothing_else(room: Room) -> None:
    room.ready(DESK)
    room.ready(CLIENT)
    room.opened()
    room.conductor.asked(AskRound("start"))
    room.conductor.asked(AskNote("HERON-07 yawned"))
    room.data(30.0)
    assert {type(m) for _, m in room.windows.sent if _ == CLIENT.name} == {
        ClientFrame,
        ClientControl,
    }


def test_a_point_reaches_the_client_display_at_once(room: Room) -> None:
    room.ready(CLIENT)
    room.ready(DESK)
    room.opened()
    room.conductor.asked(AskRound("start"))
    for chunk in chunks_of(rhythm(30.0)):
        before = len(room.live.points)
        room.windows.sent.clear()
        room.conductor.source_said(Data(chunk))
        if len(room.live.points) > before:
            (frame,) = room.told(CLIENT, ClientFrame)
            assert frame.points == before + 1
            assert frame.progress == 1.0
    assert room.live.points


def test_points_are_held_off_until_every_needed_window_is_open(room: Room) -> None:
    room.opened()
    assert set(room.live.holds_off.values()) == {
        "the desk is not open yet",
        "the client display is not open yet",
    }
    room.ready(DESK)
    room.ready(CLIENT)
    assert room.live.holds_off == {}
    assert room.told(DESK, WindowReturned) == []


def test_a_needed_window_that_dies_holds_points_off_until_it_is_back(room: Room) -> None:
    room.ready(DESK)
    room.ready(CLIENT)
    room.opened()
    room.data(2.0)
    room.gone(CLIENT)
    room.data(2.0)
    room.ready(CLIENT)
    kinds = (WindowLost, WindowReturned, HoldOff, HoldOffEnd)
    assert room.told(DESK, *kinds) == [
        WindowLost(500, "client display", "it ended with status 3"),
        HoldOff(500, "the client display is gone"),
        WindowReturned(1000, "client display"),
        HoldOffEnd(1000, "the client display is gone"),
    ]
    (remark,) = room.told(DESK, Remark)
    assert remark.text.startswith("The client display is gone (it ended with status 3)")


def test_closing_the_desk_ends_the_session_even_without_a_word(room: Room) -> None:
    room.ready(DESK)
    room.opened()
    room.gone(DESK, "it ended with status 0", left=True)
    assert room.conductor.over == "the desk was closed"


def test_a_desk_that_never_opens_makes_the_run_headless(room: Room) -> None:
    room.opened()
    room.ready(CLIENT)
    room.conductor.window_happened(WindowGivenUp(DESK, "it was not ready in 10 s"))
    assert room.live.rounds.phase == "training"
    assert room.live.holds_off == {}
    (said,) = room.said
    assert said.startswith("The desk could not be opened (it was not ready in 10 s); the session")
    room.data(31.0)
    assert room.conductor.over == "all rounds are done"


def test_a_client_display_that_never_opens_is_told_to_the_desk(room: Room) -> None:
    room.ready(DESK)
    room.opened()
    room.conductor.window_happened(WindowGivenUp(CLIENT, "it ended with status 1"))
    assert room.live.holds_off == {}
    assert room.live.rounds.phase == "ready"
    (remark,) = room.told(DESK, Remark)
    assert "could not be opened" in remark.text
    assert remark.grave


def test_what_nobody_can_answer_any_more_ends_the_run(room: Room) -> None:
    room.conductor.source_said(Question("unit", "Which unit?", ("V", "µV")))
    assert room.conductor.over == ""
    room.conductor.window_happened(WindowGivenUp(DESK, "it was not ready in 10 s"))
    assert room.conductor.over == "an error"
    assert "--unit" in str(room.conductor.error)


def test_a_question_reaches_a_desk_that_is_late_and_its_answer_the_source(room: Room) -> None:
    question = Question("unit", "In which unit are the samples?", ("V", "µV"), "µV")
    room.conductor.source_said(question)
    room.ready(DESK)
    assert room.told(DESK, Question) == [question]
    room.conductor.asked(AskAnswer("unit", "furlong"))
    assert room.told(DESK, Remark)[-1].text.startswith("The unit is 'furlong'")
    assert room.told(DESK, Question) == [question, question]
    room.conductor.asked(AskAnswer("unit", "µV"))
    assert room.source.answers == [("unit", "µV")]
    room.gone(DESK)
    room.windows.sent.clear()
    room.ready(DESK)
    assert room.told(DESK, Question) == []


def test_an_ask_out_of_range_becomes_a_remark(room: Room) -> None:
    room.ready(DESK)
    room.opened()
    room.conductor.asked(AskNudge("hold", "key", steps=-100))
    (remark,) = room.told(DESK, Remark)
    assert remark.text.startswith("hold is -4.5, but 0.02 to 10 s is accepted")
    assert room.told(DESK, Nudge) == []


def test_a_note_and_a_nudge_come_back_to_the_desk_as_events(room: Room) -> None:
    room.ready(DESK)
    room.opened()
    room.conductor.asked(AskNote("eyes closed"))
    room.conductor.asked(AskNudge("smr.threshold", "drag", value=3.5))
    assert room.told(DESK, Note, Nudge) == [
        Note(0, 0.0, "eyes closed", "operator"),
        Nudge(0, "smr.threshold", 3.5, "operator", "drag"),
    ]
    assert room.told(DESK, Status)[-1].settings.thresholds_uv == (9.0, 3.5)


def test_a_change_of_the_clients_window_reaches_it_and_stays(room: Room) -> None:
    room.ready(DESK)
    room.ready(CLIENT)
    room.opened()
    changed = ClientControl(volume=0.1, muted=True)
    room.conductor.asked(AskClient(changed))
    assert room.told(CLIENT, ClientControl)[-1] == changed
    assert room.told(DESK, Status)[-1].client == changed
    room.gone(CLIENT)
    room.windows.sent.clear()
    room.ready(CLIENT)
    assert room.told(CLIENT, ClientControl) == [changed]


def test_what_is_asked_before_there_is_a_stream_does_no_harm(room: Room) -> None:
    room.ready(DESK)
    for ask in (AskRound("start"), AskNudge("hold", "key", 1), AskNote("early")):
        room.conductor.asked(ask)
    assert room.told(DESK, Remark, Note) == []


def test_quitting_ends_the_session(room: Room) -> None:
    room.ready(DESK)
    room.conductor.asked(AskQuit())
    assert room.conductor.over == "the operator closed the session"


def test_with_a_desk_an_error_is_shown_and_kept_until_it_is_closed(room: Room) -> None:
    room.conductor.source_said(Ended(SourceError("The amplifier is gone; switch it on.")))
    assert room.conductor.over == ""
    room.ready(DESK)
    assert room.told(DESK, Remark) == [Remark("The amplifier is gone; switch it on.", grave=True)]
    room.conductor.asked(AskQuit())
    assert room.conductor.error is not None


def test_with_a_desk_a_stream_may_be_gone_for_as_long_as_it_takes(room: Room) -> None:
    room.ready(DESK)
    room.opened()
    room.conductor.source_said(Lost("no sample for 0.5 s"))
    room.clock.now += 3600
    room.conductor.look()
    assert room.conductor.over == ""


def test_progress_fades_while_the_stream_is_lost(room: Room) -> None:
    room.ready(DESK)
    room.ready(CLIENT)
    room.opened()
    room.conductor.asked(AskRound("start"))
    room.data(8.0)
    room.conductor.source_said(Lost("no sample for 0.5 s"))
    for _ in range(200):
        room.clock.now += 0.03
        room.audience.pictures(room.clock.now)
    frame = room.told(CLIENT, ClientFrame)[-1]
    assert frame.progress < 0.01
    assert frame.closeness < 0.01
    assert not frame.clear


def test_a_round_that_begins_by_itself_waits_for_the_windows(tmp_path: Path) -> None:
    room = Room(tmp_path, by_itself=True)
    room.opened()
    room.data(1.0)
    assert room.live.rounds.phase == "ready"
    room.ready(DESK)
    room.ready(CLIENT)
    assert room.told(DESK, RoundStart) == [RoundStart(250, 1)]
