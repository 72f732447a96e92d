"""Every key and every button of the desk asks for the right thing, and nothing else."""

import pytest
from PyQt6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot

from engine.session.asks import AskAnswer, AskClient, AskNote, AskNudge, AskQuit, AskRound
from engine.session.messages import ClientControl, Goodbye, Remark
from engine.stream.messages import Question
from tests.ui.monitor.sitting import Ctrl, Key, Sitting, hands, middle
from ui.monitor.link import Gone
from ui.monitor.overlay import HelpSheet, Prose, QuitSheet
from ui.monitor.question import QuestionSheet
from ui.monitor.response import ResponseSheet

UNIT = Question("unit", "Which unit is it?", ("volts", "millivolts", "microvolts"), "microvolts")


def test_f5_and_ctrl_enter_start_f6_rests(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.press(Key.Key_F5)
    desk.press(Key.Key_Return, Ctrl)
    desk.press(Key.Key_F6)
    assert desk.asks == [AskRound("start"), AskRound("start"), AskRound("rest")]


@pytest.mark.parametrize("key", [Key.Key_Return, Key.Key_Space, Key.Key_S, Key.Key_5])
def test_no_single_key_nearby_starts_a_round(qtbot: QtBot, key: Key) -> None:
    desk = Sitting(qtbot)
    desk.press(key)
    assert desk.asked(AskRound) == []


def test_start_rest_and_stop_by_button(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    top = desk.page.headline
    desk.click(top.start)
    desk.pass_time(0.5)
    desk.click(top.rest)
    desk.pass_time(0.5)
    desk.click(top.start)
    desk.pass_time(0.5)
    desk.click(top.stop)
    assert [ask.what for ask in desk.asked(AskRound)] == ["start", "rest", "start", "stop"]


def test_a_button_that_makes_no_sense_cannot_be_pressed(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.click(desk.page.headline.rest)
    desk.train()
    desk.click(desk.page.headline.start)
    desk.host.stream_ok = False
    desk.host.phase = "ready"
    desk.pass_time(0.1)
    desk.click(desk.page.headline.start)
    assert desk.asks == []


@pytest.mark.parametrize("page", ["", "help", "response", "quit", "note"])
def test_escape_stops_whatever_lies_over_the_desk(qtbot: QtBot, page: str) -> None:
    desk = Sitting(qtbot)
    desk.train()
    if page:
        desk.window.do(page)
    desk.press(Key.Key_Escape)
    assert desk.asks == [AskRound("stop")]
    assert desk.window.sheet is None


def test_escape_stops_while_a_question_waits_and_the_question_stays(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.train()
    desk.window.receive(UNIT)
    desk.press(Key.Key_Escape)
    assert desk.asks == [AskRound("stop")]
    assert isinstance(desk.window.sheet, QuestionSheet)


def test_keys_nudge_the_chosen_threshold_up_and_down(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.press(Key.Key_2)
    for key in (Key.Key_Plus, Key.Key_Right, Key.Key_Minus, Key.Key_Left):
        desk.press(key)
    assert desk.asks == [AskNudge("smr.threshold", "key", steps=n) for n in (1, 1, -1, -1)]


def test_arrows_walk_through_every_row_and_stay_within(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    table = desk.page.table
    walked = [table.chosen]
    for _ in range(5):
        desk.press(Key.Key_Down)
        walked.append(table.chosen)
    expected = ["theta.threshold", "smr.threshold", "high_beta.threshold", "hold", "quiet"]
    assert walked == [*expected, "quiet"]
    for _ in range(6):
        desk.press(Key.Key_Up)
    assert table.chosen == "theta.threshold"


def test_hold_quiet_and_averaging_are_chosen_by_letter(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    for keys in ((Key.Key_H,), (Key.Key_Q,), (Key.Key_3, Key.Key_A), (Key.Key_A,)):
        for key in keys:
            desk.press(key)
        desk.press(Key.Key_Plus)
    keys_asked = [ask.key for ask in desk.asked(AskNudge)]
    assert keys_asked == ["hold", "quiet", "high_beta.averaging", "high_beta.threshold"]


def test_a_row_that_is_not_there_is_not_chosen(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.press(Key.Key_9)
    assert desk.page.table.chosen == "theta.threshold"


def test_every_setting_has_its_buttons_and_they_choose_it_too(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    table = desk.page.table
    steppers = [(row.keys[0], row.threshold) for row in table.rows]
    steppers += [(row.keys[1], row.averaging) for row in table.rows]
    steppers += [(time.key, time.stepper) for time in table.times]
    assert {key for key, _ in steppers} == set(desk.host.settings.keys)
    for key, stepper in steppers:
        desk.asks.clear()
        desk.click(stepper.more)
        desk.click(stepper.less)
        assert desk.asks == [AskNudge(key, "button", steps=n) for n in (1, -1)]
        assert table.chosen == key


def test_a_number_is_chosen_by_clicking_it(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    figure = desk.page.table.rows[1].averaging.figure
    hands.mouseClick(figure, Qt.MouseButton.LeftButton, pos=middle(figure))
    assert desk.page.table.chosen == "smr.averaging"
    assert desk.asks == []


def test_the_table_shows_what_the_host_made_of_a_nudge(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.press(Key.Key_2)
    desk.press(Key.Key_Plus)
    desk.press(Key.Key_H)
    desk.press(Key.Key_Plus)
    desk.pass_time(0.1)
    assert desk.page.table.rows[1].threshold.figure.text == "4.20"
    assert desk.page.table.times[0].stepper.figure.text == "0.55"
    assert desk.page.table.times[0].effective.text == "0.560 s, 28 ticks"


# ---- notes --------------------------------------------------------------------------------------


def test_typing_a_note_triggers_nothing_and_enter_keeps_it(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.press(Key.Key_F2)
    text = "Harms? 1 2 3 + - = _ [ ] qahmcts QAHMCTS"
    hands.keyClicks(desk.page.footer.note, text)
    for key in (Key.Key_Up, Key.Key_Down, Key.Key_Left, Key.Key_Right, Key.Key_Space):
        desk.press(key)
    assert desk.asks == []
    assert desk.page.table.chosen == "theta.threshold"
    desk.press(Key.Key_End)
    desk.press(Key.Key_Return)
    (note,) = desk.asks
    assert isinstance(note, AskNote)
    assert note.text.replace(" ", "") == text.replace(" ", "")
    assert desk.page.footer.note.text() == ""


def test_after_a_note_the_keys_work_again(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.press(Key.Key_F2)
    desk.press(Key.Key_Return)
    desk.press(Key.Key_Plus)
    assert desk.asks == [AskNudge("theta.threshold", "key", steps=1)]


def test_stop_and_start_work_while_typing_and_the_words_stay(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.press(Key.Key_F2)
    hands.keyClicks(desk.page.footer.note, "calmer now")
    desk.press(Key.Key_F5)
    desk.pass_time(0.2)
    desk.press(Key.Key_Escape)
    assert desk.asks == [AskRound("start"), AskRound("stop")]
    assert desk.page.footer.note.text() == "calmer now"
    assert not desk.page.footer.note.hasFocus()


def test_a_kept_note_is_shown_with_its_time(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.host.demo = False
    desk.press(Key.Key_F2)
    hands.keyClicks(desk.page.footer.note, "asked to breathe slower")
    desk.press(Key.Key_Enter)
    desk.pass_time(0.2)
    assert desk.page.footer.remark.text == "0:01  asked to breathe slower"


# ---- the client's window ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "change"),
    [
        (Key.Key_BracketLeft, {"volume": 0.35}),
        (Key.Key_BracketRight, {"volume": 0.45}),
        (Key.Key_M, {"muted": True}),
        (Key.Key_V, {"scene": "bowl"}),
        (Key.Key_C, {"closeness": False}),
        (Key.Key_T, {"tone": True}),
        (Key.Key_F9, {"full_screen": True}),
        (Key.Key_S, {"screen": 0}),
    ],
)
def test_keys_change_what_the_client_sees_and_hears(
    qtbot: QtBot, key: Key, change: dict[str, float]
) -> None:
    desk = Sitting(qtbot)
    desk.press(key)
    assert desk.asks == [AskClient(ClientControl(**change))]  # type: ignore[arg-type]


def test_buttons_change_what_the_client_sees_and_hears(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    card = desk.page.client
    for button in (card.louder, card.softer, *card.switches.values()):
        desk.click(button)
    last = desk.asked(AskClient)[-1].control
    assert len(desk.asks) == 8
    assert last == ClientControl(
        scene="bowl",
        volume=0.4,
        muted=True,
        closeness=False,
        tone=True,
        full_screen=True,
        screen=0,
    )


def test_the_volume_ends_at_nothing_and_at_full(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    for _ in range(30):
        desk.press(Key.Key_BracketRight)
    assert desk.page.client.control.volume == 1.0
    for _ in range(40):
        desk.press(Key.Key_BracketLeft)
    assert desk.page.client.control.volume == 0.0
    assert desk.page.client.volume.text == "0 %"


def test_the_screens_are_gone_through_in_turn(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.press(Key.Key_S)
    assert desk.page.client.switches["client_screen"].text() == "screen 1"
    desk.press(Key.Key_S)
    assert desk.page.client.switches["client_screen"].text() == "any screen"


def test_a_desk_that_came_back_follows_what_the_host_knows_of_the_client(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.host.control = ClientControl(muted=True, volume=0.2)
    desk.pass_time(0.1)
    assert desk.page.client.control == ClientControl(muted=True, volume=0.2)
    assert desk.page.client.switches["mute"].text() == "sound off"


# ---- pages over the desk ------------------------------------------------------------------------


@pytest.mark.parametrize(("key", "sheet"), [(Key.Key_F1, HelpSheet), (Key.Key_F3, ResponseSheet)])
def test_a_page_opens_and_closes_by_the_same_key(
    qtbot: QtBot, key: Key, sheet: type[HelpSheet] | type[ResponseSheet]
) -> None:
    desk = Sitting(qtbot)
    desk.press(key)
    assert isinstance(desk.window.sheet, sheet)
    desk.press(Key.Key_Plus)
    desk.press(key)
    assert desk.window.sheet is None
    assert desk.asks == []


def test_page_buttons_at_the_foot_do_what_their_keys_do(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    keys, rates, filters, theme, still, close = desk.page.footer.pages
    desk.click(keys)
    assert isinstance(desk.window.sheet, HelpSheet)
    desk.window.close_sheet()
    desk.click(rates)
    assert desk.page.chart_card.mapped
    desk.click(rates)
    assert not desk.page.chart_card.mapped
    desk.click(filters)
    assert isinstance(desk.window.sheet, ResponseSheet)
    desk.window.close_sheet()
    desk.click(theme)
    assert desk.window.look.palette.name == "light"
    desk.click(still)
    assert desk.page.still
    desk.click(close)
    assert isinstance(desk.window.sheet, QuitSheet)


def test_a_question_is_answered_by_number_and_enter(qtbot: QtBot) -> None:
    desk = Sitting(qtbot, greet=False)
    desk.window.receive(UNIT)
    desk.press(Key.Key_2)
    assert desk.asks == []
    desk.press(Key.Key_Return)
    assert desk.asks == [AskAnswer("unit", "millivolts")]
    assert desk.window.sheet is None


def test_enter_alone_takes_the_suggestion(qtbot: QtBot) -> None:
    desk = Sitting(qtbot, greet=False)
    desk.window.receive(UNIT)
    desk.press(Key.Key_Return)
    assert desk.asks == [AskAnswer("unit", "microvolts")]


def test_questions_come_one_after_the_other_and_none_twice(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    rate = Question("accept-rate", "Is the measured rate right?", ("yes", "no"))
    for question in (UNIT, rate, rate):
        desk.window.receive(question)
    desk.press(Key.Key_Return)
    desk.press(Key.Key_Down)
    desk.press(Key.Key_Return)
    assert desk.asks == [AskAnswer("unit", "microvolts"), AskAnswer("accept-rate", "no")]
    assert desk.window.sheet is None


def test_a_question_is_answered_by_mouse(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.window.receive(UNIT)
    sheet = desk.window.sheet
    assert isinstance(sheet, QuestionSheet)
    box = sheet.choices.visualItemRect(sheet.choices.item(0))
    viewport = sheet.choices.viewport()
    hands.mouseClick(viewport, Qt.MouseButton.LeftButton, pos=box.center())
    desk.click(sheet.button)
    assert desk.asks == [AskAnswer("unit", "volts")]


def test_a_question_without_choices_is_answered_in_writing(qtbot: QtBot) -> None:
    desk = Sitting(qtbot, greet=False)
    desk.window.receive(Question("channel", "Which sites are these channels?", ()))
    desk.press(Key.Key_Return)
    assert desk.asks == []
    hands.keyClicks(desk.window.focusWidget(), "C4 Fp1 1 2 q m + -")
    desk.press(Key.Key_Return)
    assert desk.asks == [AskAnswer("channel", "C4 Fp1 1 2 q m + -")]


def test_another_answer_than_those_offered_can_be_written(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.window.receive(UNIT)
    desk.press(Key.Key_Tab)
    hands.keyClicks(desk.window.focusWidget(), "0.0224 µV")
    desk.press(Key.Key_Return)
    assert desk.asks == [AskAnswer("unit", "0.0224 µV")]


def test_an_answer_that_was_not_accepted_is_asked_for_again_with_the_reason(qtbot: QtBot) -> None:
    desk = Sitting(qtbot, greet=False)
    desk.window.receive(Remark("Looking for the stream."))
    desk.window.receive(UNIT)
    sheet = desk.window.sheet
    assert sheet is not None
    assert "Looking for the stream." not in [prose.text() for prose in sheet.findChildren(Prose)]
    desk.press(Key.Key_Return)
    desk.window.receive(Remark("The unit is 'furlong', but one of V, mV, µV is accepted."))
    desk.window.receive(UNIT)
    again = desk.window.sheet
    assert isinstance(again, QuestionSheet)
    said = [prose.text() for prose in again.findChildren(Prose)]
    assert "The unit is 'furlong', but one of V, mV, µV is accepted." in said


def test_a_question_can_be_put_aside_by_nothing_but_its_answer(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.window.receive(UNIT)
    desk.press(Key.Key_F1)
    desk.press(Key.Key_F1)
    assert isinstance(desk.window.sheet, QuestionSheet)
    assert desk.asks == []


# ---- closing ------------------------------------------------------------------------------------


def test_closing_asks_first_and_ctrl_q_stays(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.window.close()
    assert desk.window.isVisible()
    assert isinstance(desk.window.sheet, QuitSheet)
    desk.press(Key.Key_Q, Ctrl)
    assert desk.window.sheet is None
    assert desk.asks == []


def test_closing_leaves_the_end_to_the_host(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.press(Key.Key_Q, Ctrl)
    desk.press(Key.Key_Return)
    desk.press(Key.Key_Return)
    desk.press(Key.Key_Escape)
    assert desk.asked(AskQuit) == [AskQuit()]
    assert desk.window.isVisible()
    assert isinstance(desk.window.sheet, QuitSheet)
    desk.window.receive(Goodbye())
    assert not desk.window.isVisible()


def test_closing_by_button(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.window.do("quit")
    assert isinstance(desk.window.sheet, QuitSheet)
    desk.click(desk.window.sheet.yes)
    assert desk.asks == [AskQuit()]


def test_a_desk_whose_host_is_gone_closes_without_asking(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.window.receive(Gone())
    assert not desk.window.isVisible()


def test_a_click_beside_a_page_does_not_reach_the_desk(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.window.do("help")
    at = desk.page.headline.start.mapTo(desk.window, QPoint(5, 5))
    hit = desk.window.childAt(at)
    assert hit is not None
    hands.mouseClick(hit, Qt.MouseButton.LeftButton, pos=hit.mapFrom(desk.window, at))
    assert desk.asks == []
