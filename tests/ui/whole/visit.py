"""A whole visit at the desk, from the client to the care, by keys and clicks."""

from __future__ import annotations

from multiprocessing.connection import Connection
from typing import Any

from tests.ui.whole import hands
from tests.ui.whole.hands import Ctrl, Hands, Key, Script
from ui.monitor.desk import DeskWindow
from ui.monitor.pages.baseline_page import BaselinePage
from ui.monitor.pages.care_page import CarePage
from ui.monitor.pages.client_page import ClientPage
from ui.monitor.pages.look_back_page import LookBackPage
from ui.monitor.pages.measure_page import MeasurePage


def main(connection: Connection, ready: Any) -> None:
    """Be the desk of this visit."""
    hands.main(connection, ready, visit)


def visit(at: Hands) -> Script:
    """Go through every step of a visit in their order."""
    desk = at.desk
    yield "the client's page", lambda: desk.step == "client" and desk.shown is not desk.start_page
    yield from received(at, desk)
    yield "the stream", lambda: desk.page is not None
    yield from measured(at, desk)
    yield from baseline(at, desk, "before")
    yield from trained(at, desk)
    yield from baseline(at, desk, "after")
    yield from looked_back(at, desk)
    yield from cared_for(at, desk)
    at.press(Key.Key_Q, Ctrl)
    yield "the question whether to close", lambda: desk.sheet is not None
    at.shot("close")
    at.press(Key.Key_Return)


def received(at: Hands, desk: DeskWindow) -> Script:
    """Sign in, make the records, and receive a new client: all is asked before the visit begins."""
    page = desk.shown
    assert isinstance(page, ClientPage)
    at.shot("records-new")
    at.write(page.who.operator.line, "MK")
    at.click(at.button("Make the records"))
    at.write(page.who.code, "HERON-07")
    at.press(Key.Key_Return)
    at.type("born 1987")
    at.click(at.button("SMR up at C4"))
    at.click(at.button("None to all that is open"))
    at.type("7 h")
    at.shot("client")
    at.click(at.button("No to all that is open"))
    for tick in (page.first.consent_tick, page.first.read_tick):
        tick.setFocus()
        at.press(Key.Key_Space)
    at.shot("client-asked")
    yield "nothing left to ask", lambda: page.missing == ""
    at.click(at.button("Begin the visit"))


def measured(at: Hands, desk: DeskWindow) -> Script:
    """Write down three lengths, and keep the head with the client."""
    at.press(Key.Key_2, Ctrl)
    page = desk.shown
    assert isinstance(page, MeasurePage)
    at.press(Key.Key_Tab)
    at.shot("measure-empty")
    for name, length in (("nasion-inion", "36"), ("preauricular", "34"), ("circumference", "56")):
        at.write(page.lengths[name].line, length)
    yield "the distance of C4", lambda: "6.8" in at.words()
    at.shot("measure")
    at.click(at.button("Keep with the client"))


def baseline(at: Hands, desk: DeskWindow, which: str) -> Script:
    """Take a baseline of a clear minute; before the training, take its thresholds."""
    at.press(Key.Key_5, Ctrl)
    page = desk.shown
    assert isinstance(page, BaselinePage)
    if which == "before":
        at.click(at.button("1"))
    at.click(at.button(f"Begin baseline {which}"))
    yield "the baseline to run", lambda: "clear" in at.words()
    at.shot(f"baseline-{which}-running")
    yield "the baseline to end", lambda: f"baseline {which}" in page.done
    if which == "before":
        yield "thresholds to start with", lambda: at.button("Use these thresholds").isEnabled()
        at.shot("baseline-before")
        at.click(at.button("Use these thresholds"))
    at.shot(f"baseline-{which}-over")


def trained(at: Hands, desk: DeskWindow) -> Script:
    """Train until points have come, nudge once, write a note, and stop."""
    at.press(Key.Key_6, Ctrl)
    at.press(Key.Key_F5)
    page = desk.page
    assert page is not None
    memory = page.memory
    yield "points", lambda: memory.status is not None and memory.status.points >= 5
    at.shot("train")
    at.press(Key.Key_2)
    at.press(Key.Key_Minus)
    yield "the nudge", lambda: memory.n_changes >= 1 and memory.changes[-1].key == "smr.threshold"
    at.press(Key.Key_F2)
    at.type("calm from the third minute on")
    at.press(Key.Key_Return)
    at.press(Key.Key_D)
    yield "two minutes", lambda: memory.status is not None and memory.status.round_elapsed_s > 120
    at.shot("train-later")
    at.press(Key.Key_Escape)
    yield "the round to end", lambda: memory.status is not None and memory.status.phase == "ready"


def looked_back(at: Hands, desk: DeskWindow) -> Script:
    """Read what it came to, turn it to the client, and keep the rating."""
    at.press(Key.Key_7, Ctrl)
    page = desk.shown
    assert isinstance(page, LookBackPage)
    yield "the course", lambda: page.seen is not None and page.seen.whole.points >= 5
    page.chart.setFocus()
    for key in (Key.Key_Left, Key.Key_Plus, Key.Key_Backspace):
        at.press(key)
    yield "a reading", lambda: "theta" in page.reading.text
    at.shot("look-back")
    at.click(at.button("Turn to the client"))
    yield "the client's view", lambda: "You trained for" in page.client.sentences.text()
    at.shot("look-back-client")
    at.click(at.button("Back to the numbers"))
    at.click(at.button("8"))
    at.click(page.rating.keep)
    yield "the rating to be kept", lambda: page.next.text == "Go on to Care."


def cared_for(at: Hands, desk: DeskWindow) -> Script:
    """Tick the steps off, plan the next session, and copy the note."""
    at.press(Key.Key_8, Ctrl)
    page = desk.shown
    assert isinstance(page, CarePage)
    for tick in page.steps.ticks.values():
        tick.setFocus()
        at.press(Key.Key_Space)
    at.click(page.steps.keep)
    page.plan.words.setFocus()
    at.type("same again, a longer hold")
    at.click(page.plan.keep)
    note = page.note.note
    yield "the note", lambda: "Next session\n- same again, a longer hold" in note.toPlainText()
    at.shot("care")
    at.click(at.button("Copy the note"))
