"""The check with the client: three steps, their limits, and the keys that lead through."""

from dataclasses import replace

import pytest
from pytestqt.qtbot import QtBot

from engine.practice.check import BLINK, CHECKS, MUSCLE, CheckProposal, LimitProposal
from engine.session.asks import AskEntry, AskLimit, AskStretch
from engine.session.messages import Status
from engine.session.stretches import COMPLETE, StretchResult, StretchView
from tests.ui.monitor.fake_host import FakeHost
from tests.ui.monitor.pages.looking import (
    SIZES,
    Key,
    at_every_size,
    hands,
    offences,
    reachable,
    settle,
    show,
)
from tests.ui.monitor.sitting import Sitting
from ui.monitor.pages.check_page import CheckPage
from ui.theme import LIGHT

FOUND = LimitProposal(MUSCLE, 5.0, 4.2, 0.02, 1.0, 0.01, 0.92, 4, 4, "At 4.2 µV muscle hides 2%.")
BLINKS = LimitProposal(BLINK, 150.0, 85.0, 0.03, 1.0, 0.0, 0.5, 6, 6, "At 85 µV 6 of 6 blinks.")
COSTLY = replace(BLINKS, value_uv=20.0, rest_share=0.31)
UNSEEN = LimitProposal(BLINK, 150.0, None, None, None, 0.0, None, 0, 0, "Blinks do not stand out.")
BOTH = CheckProposal((FOUND, BLINKS), CHECKS)


def result(what: str, why: str = COMPLETE) -> StretchResult:
    return StretchResult(what, 1.0, 4.0, 4.0, (1.0,), (0.1,), why)


ALL = tuple(result(what) for what in CHECKS)


class Checks:
    """A page, what it asked for, and a host's status to change."""

    def __init__(self, qtbot: QtBot, size: tuple[int, int] = SIZES[0]):
        host = FakeHost()
        (self.status, *_) = [m for m in host.advance(1.0) if isinstance(m, Status)]
        self.said: list[tuple[object, ...]] = []
        self.page = CheckPage(
            host.hello(),
            lambda what, seconds: self.said.append(("start", what, seconds)),
            lambda: self.said.append(("stop",)),
            lambda pairs: self.said.append(("use", *pairs)),
            lambda pairs: self.said.append(("keep", *pairs)),
        )
        self.size = size
        show(qtbot, self.page, size)

    def tell(self, **changes: object) -> None:
        self.status = replace(self.status, **changes)  # type: ignore[arg-type]
        self.page.show_status(self.status)

    def done(self, *names: str) -> None:
        self.tell(stretch=None, results=tuple(result(what) for what in names))

    def run(self, what: str) -> None:
        self.tell(stretch=StretchView(what, 2.0, 1.0, 4.0, False))

    def cells(self, key: str, row: str) -> tuple[str, ...]:
        return tuple(cell.text for cell in self.page.limits.cells[key, row])


@pytest.fixture
def checks(qtbot: QtBot) -> Checks:
    return Checks(qtbot)


def test_enter_alone_leads_through_the_three_steps_and_takes_the_limits(checks: Checks) -> None:
    page = checks.page
    page.steps["rest"].button.setFocus()
    done: list[str] = []
    for what in CHECKS:
        hands.keyClick(page.focusWidget(), Key.Key_Return)
        assert checks.said[-1][:2] == ("start", what)
        checks.run(what)
        done.append(what)
        if what == "blink":
            checks.tell(check=BOTH)
        checks.done(*done)
    hands.keyClick(page.focusWidget(), Key.Key_Return)
    assert checks.said == [
        ("start", "rest", 8.0),
        ("start", "clench", 4.0),
        ("start", "blink", 6.0),
        ("use", (MUSCLE, 4.2), (BLINK, 85.0)),
    ]


def test_what_to_do_next_is_said_at_every_turn(checks: Checks) -> None:
    assert "begin rest: 8 seconds" in checks.page.next.text
    checks.run("rest")
    assert checks.page.next.text.startswith("Rest runs")
    checks.done("rest")
    assert checks.page.next.text == "Then begin clench: 4 seconds."
    checks.tell(results=ALL, check=BOTH)
    assert "use them, or keep today's" in checks.page.next.text
    in_force = tuple(replace(one, now_uv=one.value_uv) for one in BOTH.limits if one.value_uv)
    checks.tell(check=CheckProposal(in_force, CHECKS))
    assert checks.page.next.text == "The limits are set: go on to the baseline."
    assert not checks.page.use.isEnabled()


def test_while_a_step_runs_its_button_stops_it_and_the_others_wait(checks: Checks) -> None:
    checks.run("clench")
    card = checks.page.steps["clench"]
    assert (card.bar.share, card.state.text) == (0.5, "2 of 4 s")
    assert not checks.page.steps["rest"].button.isEnabled()
    card.button.click()
    assert checks.said == [("stop",)]


def test_a_step_that_was_broken_off_is_asked_for_again(checks: Checks) -> None:
    checks.tell(results=(result("rest"), result("clench", "operator")))
    card = checks.page.steps["clench"]
    assert card.state.text == "broken off after 4 s: do it again"
    assert checks.page.next.text == "Then begin clench: 4 seconds."
    card.button.click()
    assert checks.said == [("start", "clench", 4.0)]


def test_a_step_that_is_done_may_be_done_again(checks: Checks) -> None:
    checks.tell(results=ALL, check=BOTH)
    assert checks.page.steps["rest"].button.text() == "Rest again"
    checks.page.steps["rest"].button.click()
    assert checks.said == [("start", "rest", 8.0)]


def test_both_limits_stand_with_what_they_hide_and_catch(checks: Checks) -> None:
    assert checks.cells(MUSCLE, "now") == ("5 µV", "–", "–")
    checks.tell(results=ALL, check=BOTH)
    assert checks.cells(MUSCLE, "now") == ("5 µV", "1 %", "92 %")
    assert checks.cells(MUSCLE, "new") == ("4.2 µV", "2 %", "100 % (4 of 4 s of clench)")
    assert checks.cells(BLINK, "new") == ("85 µV", "3 %", "100 % (6 of 6 blinks)")


def test_where_nothing_is_proposed_for_blinks_it_says_why_and_muscle_is_set_alone(
    checks: Checks,
) -> None:
    checks.tell(results=ALL, check=CheckProposal((FOUND, UNSEEN), CHECKS))
    assert checks.page.limits.words[BLINK].text() == "Blinks do not stand out."
    assert checks.cells(BLINK, "new") == ("–", "–", "–")
    checks.page.use.click()
    assert checks.said == [("use", (MUSCLE, 4.2))]


def test_a_limit_that_hides_much_of_the_rest_is_not_put_forward(checks: Checks) -> None:
    checks.tell(results=ALL, check=CheckProposal((FOUND, COSTLY), CHECKS))
    assert checks.page.next.text.startswith("A limit would hide much of the rest")
    assert "At 20 µV the limit for blink hides 31% of the rest." in checks.page.said.text()
    checks.page.use.click()
    assert checks.said == [("use", (MUSCLE, 4.2), (BLINK, 20.0))]


def test_todays_limits_may_stay(checks: Checks) -> None:
    checks.page.stay.click()
    checks.tell(results=ALL, check=BOTH)
    assert checks.said == [("keep", (MUSCLE, 5.0), (BLINK, 150.0))]
    assert checks.page.next.text == "Today's limits stay: go on to the baseline."


def test_while_a_round_runs_no_step_begins(checks: Checks) -> None:
    checks.tell(phase="training")
    assert "Esc stops it" in checks.page.next.text
    assert not any(card.button.isEnabled() for card in checks.page.steps.values())


def test_where_the_amplifier_filters_muscle_away_it_is_said(checks: Checks) -> None:
    assert not checks.page.said.isVisible()
    checks.tell(muscle_seen=False)
    assert "filters it away" in checks.page.said.text()


def test_tab_leads_to_everything(checks: Checks) -> None:
    checks.tell(results=ALL, check=BOTH)
    assert reachable(checks.page) == []


@at_every_size
@pytest.mark.parametrize("seen", [BLINKS, UNSEEN, COSTLY], ids=["blinks", "none", "costly"])
def test_nothing_is_cut_off(qtbot: QtBot, size: tuple[int, int], seen: LimitProposal) -> None:
    checks = Checks(qtbot, size)
    checks.tell(results=ALL, check=CheckProposal((FOUND, seen), CHECKS), muscle_seen=False)
    settle(checks.page, size)
    assert offences(checks.page) == []
    assert checks.page.trace.height() >= 60


def test_nothing_is_cut_off_in_the_light(qtbot: QtBot) -> None:
    checks = Checks(qtbot)
    show(qtbot, checks.page, SIZES[0], LIGHT)
    assert offences(checks.page) == []


def test_at_the_desk_it_asks_the_host_and_draws_the_trace(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.window.go("check")
    page = desk.window.shown
    assert isinstance(page, CheckPage)
    page.steps["rest"].button.click()
    assert desk.asked(AskStretch) == [AskStretch("rest", 8.0)]
    desk.window.receive(replace(desk.host.status(), results=ALL, check=BOTH))
    page.use.click()
    assert desk.asked(AskLimit) == [AskLimit(MUSCLE, 4.2), AskLimit(BLINK, 85.0)]
    page.stay.click()
    (entry,) = desk.asked(AskEntry)
    assert (entry.topic, entry.values[MUSCLE]) == ("check", 5.0)
    desk.window.frame()
    qtbot.waitUntil(lambda: page.trace.n_painted > 0)
