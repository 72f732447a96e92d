"""The desk receives a client: what it asks of its host, and where it leads."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from engine.configs_folder import find_protocol
from engine.protocol import Protocol, load_protocol
from engine.records.clients import Client, add_client
from engine.records.heads import last_head
from engine.records.opening import Records, open_records
from engine.session.asks import AskBegin, AskEntry
from engine.session.messages import Reception
from tests.ui.monitor.sitting import Ctrl, Key, Sitting
from ui.monitor.pages.client_page import ClientPage
from ui.monitor.pages.measure_page import MeasurePage


@pytest.fixture
def records(tmp_path: Path) -> Records:
    records = open_records(tmp_path / "records.sqlite", "secret")
    add_client(records, Client("HERON-07", "born 1987"))
    return records


def received(qtbot: QtBot, records: Records, protocol: Protocol, **more: object) -> Sitting:
    desk = Sitting(qtbot, greet=False)
    desk.window.receive(
        Reception((protocol,), str(records.path), waiting=True, **more)  # type: ignore[arg-type]
    )
    return desk


def begin(page: ClientPage, protocol: Protocol) -> None:
    page.who.operator.write("MK")
    page.who.code.setText("HERON-07")
    page.who.enter()
    page.who.confirm.click()
    page.plan.pick.pick(protocol.name)
    page.today.nothing.click()
    page.today.lines["sleep"].write("7 h")
    page.first.none.click()
    page.first.consent_tick.setChecked(True)
    page.first.read_tick.setChecked(True)
    page.begin.click()


@pytest.fixture
def smr() -> Protocol:
    return load_protocol(find_protocol("smr-up-c4"))


def test_a_client_is_received_and_the_measuring_follows(
    qtbot: QtBot, records: Records, smr: Protocol
) -> None:
    desk = received(qtbot, records, smr)
    page = desk.window.shown
    assert isinstance(page, ClientPage)
    page.who.passphrase.setText("secret")
    page.who.open.click()
    begin(page, smr)
    (ask,) = desk.asked(AskBegin)
    assert (ask.protocol, ask.site, ask.passphrase) == ("smr-up-c4", "", "secret")
    assert (ask.visit["client"], ask.visit["operator"]) == ("HERON-07", "MK")
    assert "secret" not in repr(ask)
    assert desk.window.step == "measure"


def test_another_site_is_asked_for_and_a_head_is_kept_with_the_client(
    qtbot: QtBot, records: Records, smr: Protocol
) -> None:
    desk = received(qtbot, records, smr, passphrase="secret")
    page = desk.window.shown
    assert isinstance(page, ClientPage)
    page.plan.pick.pick(smr.name)
    begin(page, smr)
    page.plan.site.write("C3")
    page.begin.click()
    first, second = desk.asked(AskBegin)
    assert (second.site, second.visit["part"]) == ("C3", 2)
    assert second.visit["visit_id"] == first.visit["visit_id"]

    again = Reception((smr,), str(records.path), "secret", visit=second.visit, waiting=False)
    desk.window.receive(again)
    measure = desk.window.shown
    assert isinstance(measure, MeasurePage)
    for name, length in (("nasion-inion", "36"), ("preauricular", "34"), ("circumference", "56")):
        measure.lengths[name].write(length)
    measure._look_again()
    measure.keep.click()
    assert [ask.topic for ask in desk.asked(AskEntry)] == ["head"]
    head = last_head(records, "HERON-07")
    assert head is not None and head["circumference_cm"] == 56.0


def test_a_desk_that_is_started_again_within_a_visit_knows_it(
    qtbot: QtBot, records: Records, smr: Protocol
) -> None:
    visit = {"client": "HERON-07", "number": 3, "operator": "MK", "visit_id": "v"}
    desk = received(qtbot, records, smr, passphrase="secret", visit=visit)
    desk.press(Key.Key_1, Ctrl)
    page = desk.window.shown
    assert isinstance(page, ClientPage)
    assert page.who.name.text == "HERON-07" and page.visit is not None
