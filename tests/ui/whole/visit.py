"""A whole visit at the desk, from the client to the care, by keys and clicks."""

from __future__ import annotations

from multiprocessing.connection import Connection
from typing import Any

from tests.ui.whole import hands
from tests.ui.whole.hands import Ctrl, Hands, Key, Script
from ui.monitor.desk import DeskWindow
from ui.monitor.pages.baseline_page import BaselinePage
from ui.monitor.pages.care_page import CarePage
from ui.monitor.pages.check_page import CheckPage
from ui.monitor.pages.check_step import StepCard
from ui.monitor.pages.client_page import ClientPage
from ui.monitor.pages.contact_page import ContactPage
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
    yield from hooked_up(at, desk)
    yield from checked(at, desk)
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


def hooked_up(at: Hands, desk: DeskWindow) -> Script:
    """Go down the list by key alone, type in the impedances, and save what is good."""
    at.press(Key.Key_3, Ctrl)
    page = desk.shown
    assert isinstance(page, ContactPage)
    yield "what the signal says", lambda: page.signal.view is not None
    at.shot("contact-empty")
    next(iter(page.ticks.values())).setFocus()
    for _ in page.ticks:
        at.press(Key.Key_Space)
        at.press(Key.Key_Tab)
    for kohm in ("4.2", "12,5", "3.9"):
        at.type(kohm)
        at.press(Key.Key_Tab)
    assert "Begin with" in page.next.text, page.next.text
    yield "ten seconds of signal", lambda: page.signal.view and page.signal.view.seconds >= 10
    at.shot("contact-one-too-high")
    at.write(list(page.table.lines.values())[1], "4.6")
    assert page.view.fit
    at.shot("contact")
    at.click(at.button("Save the contact"))
    assert "go on to the check" in page.next.text, page.next.text


def checked(at: Hands, desk: DeskWindow) -> Script:
    """Say to the client what stands there, press Enter, and take the limits that come of it."""
    at.press(Key.Key_4, Ctrl)
    page = desk.shown
    assert isinstance(page, CheckPage)
    at.shot("check-empty")
    page.steps["rest"].button.setFocus()
    for what, card in page.steps.items():
        at.say(what)
        at.press(Key.Key_Return)
        yield from guided_through(at, card)
    at.say("")
    yield "limits", lambda: page.use.isEnabled()
    at.shot("check-limits")
    at.press(Key.Key_Return)
    yield "the limits to hold", lambda: page.in_force
    at.shot("check")


def guided_through(at: Hands, card: StepCard) -> Script:
    """Watch one step of the check to its end."""
    what = card.step.what
    yield f"half of {what}", lambda: card.view is not None and card.view.progress > 0.5
    at.shot(f"check-{what}")
    yield f"{what} to end", lambda: card.done


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
