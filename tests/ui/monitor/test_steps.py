"""The steps of a visit: each page at any time, by key and by click, and what they leave alone."""

import pytest
from pytestqt.qtbot import QtBot

from engine.events import Entry
from engine.session.asks import AskMark, AskNudge, AskQuit, AskRound
from engine.session.messages import Reception, Remark
from tests.ui.monitor.sitting import Ctrl, Key, Sitting
from ui.monitor.pages.care_page import CarePage
from ui.monitor.steps import NAMES


@pytest.fixture
def desk(qtbot: QtBot) -> Sitting:
    return Sitting(qtbot)


def test_every_step_is_reached_by_its_key_while_a_round_runs(desk: Sitting) -> None:
    desk.train()
    for place, name in enumerate(NAMES):
        desk.press(Key(int(Key.Key_1) + place), Ctrl)
        assert desk.window.step == name
        assert desk.window.shown.isVisible()
    assert desk.host.status().phase == "training"


def test_every_step_is_reached_by_a_click(desk: Sitting) -> None:
    for name in NAMES:
        desk.click(desk.window.bar.buttons[name])
        assert desk.window.step == name


def test_the_desk_begins_with_the_training_and_with_the_client_where_one_is_awaited(
    qtbot: QtBot,
) -> None:
    assert Sitting(qtbot).window.step == "train"
    waiting = Sitting(qtbot, greet=False)
    waiting.window.receive(Reception(waiting=True))
    assert waiting.window.step == "client"


def test_keys_of_the_training_change_nothing_on_another_page(desk: Sitting) -> None:
    desk.window.go("measure")
    for key in (Key.Key_Plus, Key.Key_Minus, Key.Key_N):
        desk.press(key)
    assert desk.asked(AskNudge) == []


def test_escape_stops_the_round_from_every_page(desk: Sitting) -> None:
    for name in NAMES:
        desk.train()
        desk.window.go(name)
        desk.press(Key.Key_Escape)
        assert desk.asked(AskRound)[-1] == AskRound("stop")
        assert desk.host.status().phase == "ready"


def test_one_key_marks_an_adverse_effect_from_every_page_and_opens_its_log(desk: Sitting) -> None:
    for name in NAMES:
        desk.window.go(name)
        desk.press(Key.Key_F12)
        assert desk.window.step == "care"
    assert desk.asked(AskMark) == [AskMark("adverse")] * len(NAMES)


def test_drowsiness_is_marked_without_leaving_the_page(desk: Sitting) -> None:
    desk.press(Key.Key_D)
    assert desk.asked(AskMark) == [AskMark("drowsy")]
    assert desk.window.step == "train"


def test_beside_another_page_the_row_says_how_the_training_fares(desk: Sitting) -> None:
    desk.train(3.0)
    desk.window.go("measure")
    for _ in range(20):
        desk.window.frame()
    assert desk.window.bar.state.text.startswith("training, ")


def test_what_the_host_says_is_read_at_the_foot_of_every_page(desk: Sitting) -> None:
    desk.window.go("measure")
    desk.window.receive(Remark("The disk is full.", grave=True))
    assert desk.window.foot.remark.text == "The disk is full."
    assert desk.window.foot.isVisible()


def test_the_next_client_is_one_key_in_the_sheet_that_closes(desk: Sitting) -> None:
    desk.press(Key.Key_Q, Ctrl)
    desk.press(Key.Key_N)
    assert desk.asked(AskQuit) == [AskQuit(next_client=True)]


def test_what_was_written_down_is_shown_with_the_care(desk: Sitting) -> None:
    desk.window.receive(Entry(500, 2.0, "drowsy", {"marked": True}))
    desk.window.go("care")
    page = desk.window.shown
    assert isinstance(page, CarePage)
    assert "0:02" in page.drowsy.text()
