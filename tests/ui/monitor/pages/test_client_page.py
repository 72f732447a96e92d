"""The page that receives a client: nobody is mixed up, nothing is left unasked, few keys."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from engine.configs_folder import find_protocol, protocol_names
from engine.practice.screening import FIRST
from engine.practice.visit import Visit, visit_from
from engine.protocol import load_protocol
from engine.records.clients import Client, add_client, clients
from engine.records.consents import last_consent
from engine.records.filing import file_recording
from engine.records.opening import open_records
from engine.session.recording_tables import encrypted
from tests.engine.records.visits import EFFECT, VISIT, recorded_visit
from tests.engine.records.visits import FIRST as FIRST_ID
from tests.engine.session.recorded import LONG
from tests.ui.monitor.pages.looking import Key, at_every_size, hands, offences, settle, show
from ui.monitor.pages.client_page import ClientPage
from ui.theme import LIGHT

NOW = datetime(2026, 11, 26, 9, 30, tzinfo=UTC)
PROTOCOLS = [
    replace(LONG, name="SMR, one long round", cautions=("Watch for spindles.",)),
    *(load_protocol(find_protocol(name)) for name in protocol_names()),
]


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clinic with one session of HERON-07, who had a headache."""
    folder = tmp_path_factory.mktemp("clinic")
    plan = ("plan", {"next": "same again, at SMR 3.5"})
    recorded_visit(folder, VISIT, FIRST_ID, entries=[("adverse", EFFECT), plan])
    return folder


class Desk:
    """Notes with what a visit begins."""

    def __init__(self) -> None:
        self.begun: list[tuple[Visit, str]] = []

    def begin(self, visit: Visit, protocol: str) -> None:
        self.begun.append((visit, protocol))


@pytest.fixture
def desk() -> Desk:
    return Desk()


@pytest.fixture
def path(tmp_path: Path, shelf: Path) -> Path:
    """Records that know HERON-07 and two who never came."""
    records = open_records(tmp_path / "records.sqlite")
    file_recording(records, next(shelf.glob("*.sqlite")))
    for code in ("EGRET-01", "HERON-08"):
        add_client(records, Client(code, "born 1990"))
    return records.path


@pytest.fixture
def made(desk: Desk, path: Path) -> Callable[..., ClientPage]:
    def make(at: Path = path, operator: str = "MK", passphrase: str = "") -> ClientPage:
        return ClientPage(
            at, PROTOCOLS, desk.begin, operator, passphrase, ask_new=True, now=lambda: NOW
        )

    return make


Made = Callable[..., ClientPage]


def chosen(page: ClientPage, code: str) -> None:
    page.who.code.setText(code)
    page.who.enter()


def confirmed(page: ClientPage, code: str = "HERON-07") -> None:
    chosen(page, code)
    page.who.confirm.click()


def answered(page: ClientPage) -> None:
    for row in page.follow.rows:
        row.words.write("gone after an hour")
    page.today.nothing.click()
    page.today.lines["sleep"].write("7 h")
    page._say()


def agreed(page: ClientPage) -> None:
    page.first.none.click()
    for tick in (page.first.consent_tick, page.first.guardian_tick, page.first.assent_tick):
        if not tick.isHidden():
            tick.setChecked(True)
    page.first.read_tick.setChecked(True)


# ---- who came -----------------------------------------------------------------------------------


def test_nothing_of_a_client_is_shown_before_the_second_identifier_is_confirmed(
    qtbot: QtBot, made: Made
) -> None:
    page = made()
    show(qtbot, page)
    chosen(page, "heron-07")
    assert page.who.identifier.text == "born 1987"
    assert page.next.text.startswith("Ask for the second identifier")
    assert not page.plan.isVisible() and not page.plan.last.isVisible()
    assert not page.follow.isVisible()
    page.who.confirm.click()
    assert page.plan.isVisible() and page.plan.last.isVisible()
    assert page.plan.site.text == "C4"


def test_a_code_that_fits_two_clients_chooses_none(qtbot: QtBot, made: Made) -> None:
    page = made()
    show(qtbot, page)
    chosen(page, "HERON")
    assert page.who.client is None
    assert [b.text().split()[0] for b in page.who.listed if b.isVisible()] == [
        "HERON-07",
        "HERON-08",
    ]


def test_whoever_came_last_stands_first(made: Made) -> None:
    page = made()
    assert [client.code for client in page.who.fitting] == ["HERON-07", "EGRET-01", "HERON-08"]
    assert page.who.listed[0].text() == "HERON-07   1 session, last 25 Nov 2026"


def test_another_client_finds_nothing_of_the_one_before(
    qtbot: QtBot, made: Made, desk: Desk
) -> None:
    page = made()
    show(qtbot, page)
    confirmed(page)
    answered(page)
    page.who.another.click()
    assert not page.plan.isVisible() and page.missing
    confirmed(page, "EGRET-01")
    assert page.follow.rows == [] and page.today.answers == {}
    assert page.plan.protocol is None and page.first.isVisible()
    page.begin.click()
    assert desk.begun == []


# ---- a client who comes again --------------------------------------------------------------------


def test_a_client_who_comes_again_is_asked_what_is_due_and_begins(
    qtbot: QtBot, made: Made, desk: Desk
) -> None:
    page = made()
    show(qtbot, page)
    confirmed(page)
    assert page.next.text == "Ask how it went on: headache."
    assert page.plan.protocol == PROTOCOLS[0]
    assert "same again" in page.plan.plan.text()
    assert "Session 1, 2026-11-25, at C4, by MK: " in page.plan.last.words.text()
    assert not page.first.isVisible()
    answered(page)
    page.begin.click()
    ((visit, protocol),) = desk.begun
    assert protocol == "smr_c4"
    assert (visit.client, visit.number, visit.identifier, visit.operator) == (
        "HERON-07",
        2,
        "born 1987",
        "MK",
    )
    assert visit.visit_id == "20261126-093000-HERON-07" and visit.part == 1
    assert visit.today["sleep"] == "7 h" and visit.today["seizures"] == "none"
    assert [heard.effect for heard in visit.follow_ups] == [f"{FIRST_ID}:1"]
    assert visit.consent == VISIT.consent  # of the first session; every recording carries it
    assert visit_from(visit.values()) == visit


def test_it_goes_by_few_keys_alone(qtbot: QtBot, made: Made, desk: Desk) -> None:
    page = made()
    show(qtbot, page)
    keys = 0

    def press(*pressed: int | str) -> None:
        nonlocal keys
        for key in pressed:
            target = page.focusWidget()
            assert target is not None
            if isinstance(key, str):
                hands.keyClicks(target, key)
                keys += len(key)
            else:
                hands.keyClick(target, key)
                keys += 1

    press("n-07", Key.Key_Return, Key.Key_Return)  # the code, the second identifier
    press("gone", Key.Key_Return)  # the headache
    page.today.nothing.setFocus()
    press(Key.Key_Space, "7 h", Key.Key_Return, Key.Key_Return)
    assert page.missing == ""
    page.begin.setFocus()
    press(Key.Key_Return)
    assert len(desk.begun) == 1 and keys < 20


def test_tab_leads_from_the_code_to_the_beginning(qtbot: QtBot, made: Made) -> None:
    page = made()
    show(qtbot, page)
    confirmed(page)
    answered(page)
    page.today.changed.line.setFocus()
    passed = []
    for _ in range(40):
        widget = page.focusWidget()
        if widget is page.begin:
            break
        passed.append(widget)
        hands.keyClick(widget, Key.Key_Tab)
    assert page.begin.hasFocus() and page.plan.site.line in passed


def test_another_protocol_in_the_same_visit_is_another_part(
    qtbot: QtBot, made: Made, desk: Desk
) -> None:
    page = made()
    show(qtbot, page)
    confirmed(page)
    answered(page)
    page.begin.click()
    assert page.begin.text() == "Begin another part"
    page.plan.pick.pick(PROTOCOLS[-1].name)
    page.begin.click()
    first, second = (visit for visit, _ in desk.begun)
    assert (second.visit_id, second.part, second.number) == (first.visit_id, 2, 2)
    assert second.site == PROTOCOLS[-1].site and desk.begun[1][1] == PROTOCOLS[-1].slug


def test_a_page_made_anew_within_a_visit_goes_on_with_it(
    qtbot: QtBot, made: Made, desk: Desk
) -> None:
    page = made()
    confirmed(page)
    answered(page)
    page.begin_visit()
    visit, _ = desk.begun[0]
    again = made()
    again.show_visit(visit.values())
    show(qtbot, again)
    assert again.missing == "" and again.next.text.startswith("The visit runs.")
    again.begin_visit()
    assert desk.begun[1][0].visit_id == visit.visit_id and desk.begun[1][0].part == 2


# ---- a new client -------------------------------------------------------------------------------


def test_a_new_client_is_asked_all_and_agrees_before_anything_begins(
    qtbot: QtBot, made: Made, desk: Desk, path: Path
) -> None:
    page = made()
    show(qtbot, page)
    chosen(page, "wren-22")
    page.begin.click()
    assert page.next.text.startswith("Write a second identifier")
    page.who.new_identifier.write("heron's nest")
    page.who.new_name.write("W.")
    page.plan.pick.pick(PROTOCOLS[0].name)
    answered(page)
    assert page.next.text == f"Ask what is asked before the first session: {len(FIRST)} open."
    page.first.answers["seizures"].pick("yes")
    page.first.none.click()
    assert page.first.care.text() == "seizures: Train only after a physician has agreed."
    assert page.next.text == "Ask for consent, and tick it."
    page.first.consent_tick.setChecked(True)
    assert page.next.text == "Read the cautions, and tick that you have."
    page.begin.click()
    assert desk.begun == []
    page.first.read_tick.setChecked(True)
    page.begin.click()
    ((visit, _),) = desk.begun
    assert visit.number == 1 and visit.card == {"name": "W."}
    assert visit.consent.complete and visit.consent.by == "MK"
    assert visit.consent.acknowledged_utc == NOW.isoformat(timespec="seconds")
    assert visit.consent.cautions[-1] == "Watch for spindles."
    assert visit.screening["seizures"] == "yes"
    records = open_records(path)
    kept = last_consent(records, "WREN-22")
    assert kept is not None and kept.consent == visit.consent
    assert "WREN-22" in [client.code for client in clients(records)]


def test_a_child_needs_the_guardian_and_the_childs_own_yes(
    qtbot: QtBot, made: Made, desk: Desk
) -> None:
    page = made()
    show(qtbot, page)
    chosen(page, "wren-22")
    page.who.new_identifier.write("born 2016")
    page.plan.pick.pick(PROTOCOLS[0].name)
    answered(page)
    agreed(page)
    assert page.missing == ""
    page.who.child.setChecked(True)
    assert "guardian's consent and the child's assent" in page.missing
    page.first.guardian_tick.setChecked(True)
    assert page.missing
    page.first.assent_tick.setChecked(True)
    page.begin.click()
    ((visit, _),) = desk.begun
    assert visit.child and visit.consent.given_by == "guardian" and visit.consent.assent


def test_the_first_questions_can_be_asked_again(qtbot: QtBot, made: Made, desk: Desk) -> None:
    page = made()
    show(qtbot, page)
    confirmed(page)
    answered(page)
    page.again.click()
    assert page.first.isVisible() and page.first.answers["seizures"].picked == "no"
    assert page.missing
    agreed(page)
    page.begin.click()
    assert desk.begun[0][0].consent.acknowledged_utc == NOW.isoformat(timespec="seconds")


def test_nobody_begins_without_signing_in(qtbot: QtBot, made: Made, desk: Desk) -> None:
    page = made(operator="")
    show(qtbot, page)
    assert page.next.text == "Sign in: write your name or initials."
    confirmed(page)
    answered(page)
    page.begin.click()
    assert desk.begun == []


# ---- the records --------------------------------------------------------------------------------


def test_encrypted_records_ask_for_their_passphrase(
    qtbot: QtBot, made: Made, tmp_path: Path
) -> None:
    locked = open_records(tmp_path / "locked.sqlite", "secret")
    add_client(locked, Client("HERON-07", "born 1987"))
    page = made(locked.path)
    show(qtbot, page)
    assert page.next.text.startswith("Open the records") and not page.who.code.isVisible()
    page.who.passphrase.setText("wrong")
    page.who.open.click()
    assert "passphrase does not open" in page.who.trouble.text()
    page.who.passphrase.setText("secret")
    page.who.open.click()
    assert page.who.trouble.isHidden() and page.who.code.isVisible()
    assert page.passphrase == "secret" and page.who.passphrase.text() == ""
    assert [client.code for client in page.who.fitting] == ["HERON-07"]


@pytest.mark.parametrize("passphrase", ["", "secret"])
def test_new_records_are_made_with_or_without_a_passphrase(
    qtbot: QtBot, made: Made, tmp_path: Path, passphrase: str
) -> None:
    page = made(tmp_path / "new.sqlite")
    show(qtbot, page)
    assert page.who.lock_words.text().startswith("The records are new.")
    page.who.passphrase.setText(passphrase)
    page.who.open.click()
    assert page.records is not None and page.who.code.isVisible()
    assert encrypted(tmp_path / "new.sqlite") == bool(passphrase)


def test_a_visit_begins_without_records_too_and_says_so(
    qtbot: QtBot, made: Made, tmp_path: Path, desk: Desk
) -> None:
    (tmp_path / "file").write_text("")
    page = made(tmp_path / "file" / "records.sqlite")
    page.who.open.click()
    show(qtbot, page)
    assert "cannot be opened" in page.who.trouble.text()
    chosen(page, "wren-22")
    page.who.new_identifier.write("born 1991")
    page.plan.pick.pick(PROTOCOLS[0].name)
    answered(page)
    agreed(page)
    page.begin.click()
    assert desk.begun[0][0].client == "WREN-22"


# ---- how it looks -------------------------------------------------------------------------------


@at_every_size
def test_all_of_a_client_who_comes_again_fits(
    qtbot: QtBot, made: Made, size: tuple[int, int]
) -> None:
    page = made()
    show(qtbot, page, size, LIGHT)
    confirmed(page)
    settle(page, size)
    assert offences(page) == []


@at_every_size
def test_all_that_a_new_client_is_asked_fits(
    qtbot: QtBot, made: Made, size: tuple[int, int]
) -> None:
    page = made()
    show(qtbot, page, size)
    chosen(page, "wren-22")
    page.who.child.setChecked(True)
    for pick in page.first.answers.values():
        pick.pick("yes")
    settle(page, size)
    assert offences(page) == []


@at_every_size
def test_the_list_of_clients_fits(qtbot: QtBot, made: Made, size: tuple[int, int]) -> None:
    page = made()
    assert page.records is not None
    for number in range(9):
        add_client(page.records, Client(f"A-CODE-OF-SOME-LENGTH-{number}", "born 1990"))
    page.unlock("")
    show(qtbot, page, size)
    assert page.who.more.text == "and 5 more: write more of the code"
    assert offences(page) == []


def test_two_protocols_of_one_name_can_be_told_apart(desk: Desk, path: Path) -> None:
    page = ClientPage(path, [LONG, replace(LONG, slug="my_smr")], desk.begin)
    assert list(page.plan.protocols) == ["SMR up at C4 (smr_c4)", "SMR up at C4 (my_smr)"]
