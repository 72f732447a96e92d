"""A session that was cut off is told of at the next start, and gone on with or closed."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from engine.session.asks import AskBegin, AskClose
from engine.session.messages import Reception
from engine.session.shelf import Shelved
from tests.ui.monitor.sitting import Key, Sitting
from ui.monitor.cut_off_sheet import CutOffSheet, saved_words

CUT = Shelved(
    path=Path("20261125-104547-smr-up-c4.sqlite"),
    protocol="SMR up at C4",
    seconds=723.0,
    n_points=41,
    began_utc=datetime(2026, 11, 25, 10, 45, tzinfo=UTC),
    last_utc=datetime(2026, 11, 25, 10, 58, tzinfo=UTC),
    client="HERON-07",
    visit={"client": "HERON-07"},
)


@pytest.fixture
def desk(qtbot: QtBot) -> Sitting:
    desk = Sitting(qtbot, greet=False)
    desk.window.receive(Reception(waiting=True, cut_off=(CUT,)))
    return desk


def test_it_says_whose_it_was_and_what_is_there() -> None:
    words = saved_words(CUT)
    assert words.startswith("The session of HERON-07, SMR up at C4, was cut off at ")
    assert words.endswith("Saved and whole: 12:03 of signal with 41 points.")


def test_enter_goes_on_with_it_and_the_training_page_opens(desk: Sitting) -> None:
    assert isinstance(desk.window.sheet, CutOffSheet)
    desk.press(Key.Key_Return)
    assert desk.asked(AskBegin) == [
        AskBegin("", visit={"client": "HERON-07"}, go_on_from=str(CUT.path))
    ]
    assert desk.window.sheet is None
    assert desk.window.step == "train"


def test_delete_closes_it(desk: Sitting) -> None:
    desk.press(Key.Key_Delete)
    assert desk.asked(AskClose) == [AskClose(str(CUT.path))]


def test_escape_leaves_it_for_later(desk: Sitting) -> None:
    desk.press(Key.Key_Escape)
    assert desk.window.sheet is None
    assert not desk.asked(AskBegin)
    assert not desk.asked(AskClose)


def test_it_is_asked_once(desk: Sitting) -> None:
    desk.press(Key.Key_Escape)
    desk.window.receive(Reception(waiting=True, cut_off=(CUT,)))
    assert desk.window.sheet is None
