"""Every state of a session can be read on the desk."""

from dataclasses import replace

import pytest
from pytestqt.qtbot import QtBot

from engine.events import Reason, State
from engine.session.asks import AskNudge
from engine.session.messages import Remark
from tests.ui.monitor.sitting import Key, Sitting
from ui.monitor.wording import REASON_WORDS


def test_before_the_stream_the_desk_says_what_it_awaits_and_what_it_hears(qtbot: QtBot) -> None:
    desk = Sitting(qtbot, greet=False)
    start = desk.window.start_page
    assert start.isVisible()
    assert start.big.text == "Looking for the stream"
    desk.window.receive(Remark("Two streams have that name."))
    desk.window.receive(Remark("The amplifier is not there.", grave=True))
    assert [words.text for words in start.remarks[-2:]] == [
        "Two streams have that name.",
        "The amplifier is not there.",
    ]


def test_ready(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    top = desk.page.headline
    assert (top.big.text, top.small.text) == ("Ready", "F5 starts the round")
    assert desk.page.rate.rate.text == "–"
    assert desk.page.rate.young.text == "nothing counted yet"
    assert not top.cycle.isVisible()


def until(desk: Sitting, state: State) -> None:
    while desk.host.state is not state:
        desk.pass_time(0.02)


@pytest.mark.parametrize("state", [State.WAITING, State.HOLDING, State.QUIET])
def test_training_names_where_in_the_cycle_it_is(qtbot: QtBot, state: State) -> None:
    desk = Sitting(qtbot)
    desk.train()
    until(desk, state)
    assert desk.page.headline.big.text == "Training"
    assert desk.page.headline.cycle.text == state.value


@pytest.mark.parametrize("reason", Reason)
def test_a_hidden_signal_is_named_with_its_reason(qtbot: QtBot, reason: Reason) -> None:
    desk = Sitting(qtbot)
    desk.train()
    desk.hide(reason)
    top = desk.page.headline
    assert (top.big.text, top.small.text) == ("Hidden", REASON_WORDS[reason])
    assert top.cycle.text == "hidden"
    assert all(lane.met.text == "hidden" for lane in desk.page.lanes.lanes)
    name = desk.page.trace.spans[-1][2]
    assert name == REASON_WORDS[reason]


def test_rest_says_what_follows_and_how_much_is_left(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.train()
    desk.press(Key.Key_F6)
    desk.pass_time(6.0)
    top = desk.page.headline
    assert top.big.text == "Rest"
    assert "F5" in top.small.text
    assert (top.left.text, top.left_caption.text) == ("0:24", "left of the rest")


def test_a_lost_stream_is_said_in_words_and_nothing_looks_current(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.train()
    desk.host.stream_ok = False
    desk.pass_time(0.02)
    assert desk.page.headline.big.text == "Stream lost"
    assert all(lane.met.text == "no signal" for lane in desk.page.lanes.lanes)
    assert all(row.now.text == "–" for row in desk.page.table.rows)
    assert desk.page.footer.stream.text == "no samples for 3.2 s"


def test_an_unsaved_session_is_said_twice(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.train()
    desk.host.recording_ok = False
    desk.pass_time(0.1)
    assert desk.page.headline.big.text == "Not saving"
    assert desk.page.footer.recording.text == "NOT SAVED: the disk is full"


def test_a_saved_session_says_up_to_when_and_where(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.pass_time(64.0)
    assert desk.page.footer.recording.text == "saved to 1:04 in session"


def test_why_no_point_can_be_earned(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.train()
    desk.host.holds_off = ("the client display is gone",)
    desk.host.client_shown = False
    desk.pass_time(0.1)
    top = desk.page.headline
    assert (top.big.text, top.small.text) == ("No points now", "the client display is gone")
    assert desk.page.client.caption.text == "the client's window is not shown"


def test_the_end_of_all_rounds(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.train()
    desk.host.phase = "ended"
    desk.pass_time(0.1)
    assert desk.page.headline.big.text == "Rounds over"
    assert desk.page.headline.start.isEnabled()


def test_the_rate_is_called_young_and_then_no_more(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.train(20.0)
    assert desk.page.rate.young.text == "young: 21 s of clear signal so far"
    desk.pass_time(60.0)
    assert desk.page.rate.young.text == "over 60 s of clear signal"


def test_the_rate_since_the_last_change_names_the_change(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.train(40.0)
    assert desk.page.rate.other_words[0].text == "nothing changed yet"
    desk.host.ask(AskNudge("hold", "key", steps=1))
    desk.pass_time(70.0)
    assert desk.page.rate.other_caption.text == "since hold 0.50 → 0.55"
    assert desk.page.rate.other_words[0].text == "1:10 ago"
    assert desk.page.rate.other_words[1].text == "over 60 s clear"


def test_muscle_that_cannot_be_seen_is_said(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.train()
    desk.host.muscle_seen = False
    desk.pass_time(0.1)
    assert desk.page.headline.small.text == "clear, but muscle cannot be seen here"


def test_the_least_delay_is_shown(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    assert desk.page.table.delay.text == "at least 0.31 s behind the sensor, then the hold"


def test_a_remark_makes_room_but_a_grave_one_is_not_pushed_away(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    line = desk.page.footer.remark
    desk.window.receive(Remark("The client display is gone; it is started again.", grave=True))
    desk.window.receive(Remark("The clock jumped by 2 s."))
    assert line.text.startswith("The client display is gone")
    desk.pass_time(20.0)
    desk.window.receive(Remark("The clock jumped by 3 s."))
    assert line.text == "The clock jumped by 3 s."
    desk.pass_time(40.0)
    assert line.text.startswith("Demo")


def test_a_stream_that_is_back_leaves_the_desk_as_it_was(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    page = desk.page
    desk.press(Key.Key_3)
    desk.window.receive(desk.host.hello())
    assert desk.page is page
    assert page.table.chosen == "high_beta.threshold"


def test_another_protocol_brings_a_page_of_its_own(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    old = desk.page
    protocol = replace(desk.host.protocol, conditions=desk.host.protocol.conditions[:1])
    hello = desk.host.renew(protocol=protocol, settings=protocol.settings)
    desk.window.receive(hello)
    assert desk.page is not old
    assert len(desk.page.lanes.lanes) == 1


def test_pictures_held_still_go_on_where_the_session_is(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.train(5.0)
    desk.press(Key.Key_F8)
    lane = desk.page.lanes.lanes[0]
    before = lane.shown_x.copy()
    for _ in range(60):
        desk.window.frame()
    for message in desk.host.advance(3.0):
        desk.window.receive(message)  # type: ignore[arg-type]
    for _ in range(60):
        desk.window.frame()
    assert lane.shown_x.size == before.size
    assert desk.page.chart_card.legend.text == "pictures held still: F8 goes on"
    assert desk.page.headline.points.text == str(len(desk.host.points))
    desk.press(Key.Key_F8)
    desk.window.frame()
    assert lane.shown_x.size > before.size


def test_dark_and_light_by_key(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    dark = desk.window.grab().toImage().pixelColor(3, 3)
    desk.press(Key.Key_F4)
    light = desk.window.grab().toImage().pixelColor(3, 3)
    assert dark.lightness() < 60 < 200 < light.lightness()


def test_a_bar_grows_with_the_round_and_goes_with_it(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    assert desk.page.headline.passed == 0
    desk.train(60.0)
    status = desk.page.memory.status
    assert status is not None
    assert desk.page.headline.passed == pytest.approx(
        status.round_elapsed_s / status.round_length_s, abs=0.01
    )
    desk.press(Key.Key_Escape)
    desk.pass_time(0.3)
    assert desk.page.headline.passed == 0
