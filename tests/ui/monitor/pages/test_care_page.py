import json
from collections.abc import Callable
from typing import Any

import pytest
from PyQt6.QtGui import QGuiApplication
from pytestqt.qtbot import QtBot

from engine.events import TOPICS
from engine.practice.care import CLEAN, DISCONNECT, SensorSet
from tests.ui.monitor.pages.looking import (
    SIZES,
    Key,
    at_every_size,
    hands,
    offences,
    reachable,
    settle,
    show,
    tick,
    write,
)
from ui.monitor.pages.care_page import CarePage
from ui.theme import LIGHT

SETS = [SensorSet("gold A", 94, "2026-02-03"), SensorSet("gold B", 12, "2026-10-30")]
NOTE = "HERON-07, session 8, SMR up at C4.\n\n168 points, 10.9 a minute of clear time.\n"


class Caring:
    """A page, and every entry that it handed over."""

    def __init__(
        self,
        qtbot: QtBot,
        size: tuple[int, int] = SIZES[0],
        sensors: list[SensorSet] | None = SETS,
    ):
        self.entries: list[tuple[str, dict[str, Any]]] = []
        self.page = CarePage(self.keep, sensors)
        self.size = size
        show(qtbot, self.page, size)

    def keep(self, topic: str, values: dict[str, Any]) -> None:
        assert topic in TOPICS
        assert json.loads(json.dumps(values)) == values
        self.entries.append((topic, values))

    def tick_all(self) -> None:
        for box in self.page.steps.ticks.values():
            tick(box)


def test_the_steps_are_ticked_by_the_space_bar_and_kept(qtbot: QtBot) -> None:
    sitting = Caring(qtbot)
    keys = [step.key for step in (*DISCONNECT, *CLEAN)]
    assert f"{len(keys)} steps are left" in sitting.page.next.text
    sitting.tick_all()
    tick(sitting.page.steps.ticks["room"])
    sitting.page.steps.keep.setFocus()
    hands.keyClick(sitting.page.steps.keep, Key.Key_Return)
    ((topic, values),) = sitting.entries
    assert topic == "care"
    assert values["done"] == keys[:-1] and values["left"] == ["room"]
    assert not sitting.page.steps.keep.isEnabled()
    tick(sitting.page.steps.ticks["room"])
    assert sitting.page.steps.keep.isEnabled()


def test_the_wear_of_the_set_is_counted_and_a_change_is_asked_for(qtbot: QtBot) -> None:
    sitting = Caring(qtbot, sensors=[*SETS, SensorSet("gold C", 99)])
    steps = sitting.page.steps
    assert "gold A: this is session 95 of about 100. Get a new set ready." in steps.wear.text()
    steps.sets.pick("gold B")
    assert "session 13 of about 100." in steps.wear.text()
    steps.sets.pick("gold C")
    assert "Change the set" in steps.wear.text()
    write(sitting.page, steps.new_set.line, "gold D")
    steps.keep.click()
    kept = sitting.entries[0][1]
    assert (kept["sensors"], kept["n_sessions"], kept["new_sensors"]) == ("gold C", 100, "gold D")


def test_without_a_known_set_one_can_be_named(qtbot: QtBot) -> None:
    sitting = Caring(qtbot, sensors=None)
    assert "No set is known yet" in sitting.page.steps.wear.text()
    write(sitting.page, sitting.page.steps.new_set.line, "gold A")
    sitting.page.steps.keep.click()
    kept = sitting.entries[0][1]
    assert (kept["sensors"], kept["n_sessions"], kept["new_sensors"]) == ("", None, "gold A")


def test_the_client_rates_in_a_number_and_in_words(qtbot: QtBot) -> None:
    sitting = Caring(qtbot)
    rating = sitting.page.rating
    assert not rating.keep.isEnabled()
    rating.rating.options["6"].setFocus()
    hands.keyClick(rating.rating.options["6"], Key.Key_Right)
    write(sitting.page, rating.words, "easier than last week")
    rating.keep.click()
    assert sitting.entries == [("rating", {"rating": 7, "words": "easier than last week"})]
    assert not rating.keep.isEnabled()


def test_a_rating_kept_elsewhere_is_not_asked_for_again(qtbot: QtBot) -> None:
    sitting = Caring(qtbot)
    sitting.page.show_rating({"rating": 0, "words": "tired"})
    assert sitting.page.rating.rating.picked == "0"
    assert not sitting.page.rating.keep.isEnabled()
    assert sitting.entries == []


def test_the_plan_for_the_next_session_is_kept(qtbot: QtBot) -> None:
    sitting = Caring(qtbot)
    write(sitting.page, sitting.page.plan.words, "hold to 0.6 s")
    sitting.page.plan.keep.click()
    assert sitting.entries == [("plan", {"next": "hold to 0.6 s"})]


def test_an_adverse_effect_is_written_down_only_when_it_is_complete(qtbot: QtBot) -> None:
    sitting = Caring(qtbot)
    card = sitting.page.adverse
    card.what.pick("headache")
    assert not card.log.isEnabled()
    assert "severe it was and what was done" in card.said.text()
    assert sitting.page.next.text == card.missing
    card.severity.pick("mild")
    card.when.pick("right after")
    write(sitting.page, card.done.line, "ended, rested")
    card.log.setFocus()
    hands.keyClick(card.log, Key.Key_Space)
    effect = {
        "what": "headache", "words": "", "when": "right after", "severity": "mild",
        "done": "ended, rested", "follow_up": True,
    }  # fmt: skip
    assert sitting.entries == [("adverse", effect)]
    assert "headache, mild, right after, ended, rested; asked again" in card.list.text()
    assert not card.begun


def test_another_effect_needs_words(qtbot: QtBot) -> None:
    sitting = Caring(qtbot)
    card = sitting.page.adverse
    card.what.pick("other")
    assert "what it was" in card.missing
    write(sitting.page, card.words.line, "ringing ears")
    assert "what it was" not in card.missing


def test_a_severe_effect_says_what_to_do_at_once(qtbot: QtBot) -> None:
    sitting = Caring(qtbot)
    sitting.page.begin_adverse()
    assert sitting.page.focusWidget() is sitting.page.adverse.what.options["headache"]
    sitting.page.adverse.severity.pick("severe")
    assert "no more training today" in sitting.page.adverse.said.text()


def test_effects_marked_by_key_are_listed(qtbot: QtBot) -> None:
    sitting = Caring(qtbot)
    sitting.page.show_adverse([{"marked": True}])
    assert "an effect was marked" in sitting.page.adverse.list.text()


def test_the_note_is_copied_whole(qtbot: QtBot) -> None:
    sitting = Caring(qtbot)
    assert not sitting.page.note.copy.isEnabled()
    sitting.page.show_note(NOTE)
    sitting.page.note.copy.setFocus()
    hands.keyClick(sitting.page.note.copy, Key.Key_Return)
    clipboard = QGuiApplication.clipboard()
    assert clipboard is not None and clipboard.text() == NOTE
    assert sitting.page.note.foot.text == "copied"
    sitting.page.show_note(NOTE + "Amended.")
    assert sitting.page.note.foot.text == ""


def test_drowsy_marks_are_listed_by_their_times(qtbot: QtBot) -> None:
    sitting = Caring(qtbot)
    assert sitting.page.drowsy.text() == "Not marked today."
    sitting.page.show_drowsy((725.0, 870.4))
    assert sitting.page.drowsy.text() == "2 times: at 12:05, 14:30."


def test_the_page_says_what_comes_next_until_all_is_done(qtbot: QtBot) -> None:
    sitting = Caring(qtbot)
    sitting.page.show_note(NOTE)
    said = [sitting.page.next.text]
    sitting.tick_all()
    said.append(sitting.page.next.text)
    sitting.page.steps.keep.click()
    said.append(sitting.page.next.text)
    sitting.page.rating.rating.pick("8")
    sitting.page.rating.keep.click()
    said.append(sitting.page.next.text)
    sitting.page.note.copy.click()
    said.append(sitting.page.next.text)
    assert [words.split(":")[0].split(",")[0] for words in said] == [
        "Take the sensors off and clean them",
        "Keep what was done",
        "Ask the client how it was.",
        "Copy the note into the client's file.",
        "All is done",
    ]


def test_everything_is_reached_by_tab_also_out_of_a_box_of_writing(qtbot: QtBot) -> None:
    sitting = Caring(qtbot)
    full(sitting)
    assert reachable(sitting.page) == []


def full(sitting: Caring) -> None:
    page = sitting.page
    page.show_note(NOTE * 6)
    page.show_drowsy(tuple(60.0 * n for n in range(1, 13)))
    page.rating.rating.pick("10")
    page.adverse.what.pick("poor sleep")
    page.adverse.severity.pick("severe")
    logged = {"what": "restless", "severity": "moderate", "when": "during training"}
    page.show_adverse([logged | {"done": "a longer rest and a walk", "follow_up": True}] * 3)
    page.steps.sets.pick("gold A")
    settle(page, sitting.size)


@at_every_size
@pytest.mark.parametrize("state", [lambda _: None, full])
def test_nothing_is_cut_off(
    qtbot: QtBot, size: tuple[int, int], state: Callable[[Caring], None]
) -> None:
    sitting = Caring(qtbot, size)
    state(sitting)
    assert (sitting.page.width(), sitting.page.height()) == size
    assert offences(sitting.page) == []


def test_it_is_seen_in_the_light_theme_too(qtbot: QtBot) -> None:
    sitting = Caring(qtbot)
    full(sitting)
    show(qtbot, sitting.page, SIZES[1], LIGHT)
    assert offences(sitting.page) == []
