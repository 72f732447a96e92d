"""The hookup: steps, impedances by hand or from the amplifier, the signal's own word, saving."""

from dataclasses import replace
from typing import Any

import pytest
from pytestqt.qtbot import QtBot

from engine.clinic import ContactLimits
from engine.events import Entry
from engine.practice.signal_contact import SUBSTITUTE, SignalSite, SignalView, SignalWord
from engine.session.asks import AskContact, AskEntry
from engine.session.impedances import ImpedanceView
from engine.session.messages import Status
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
    tick,
    write,
)
from tests.ui.monitor.sitting import Ctrl, Sitting
from ui.monitor.overlay import Prose
from ui.monitor.pages.contact_page import ContactPage
from ui.monitor.pages.contact_sensors import read_kohm
from ui.theme import LIGHT

ABSENT = ImpedanceView({}, remark="No stream of impedances is in reach; type them in.")
BAD = "Much mains: reseat the sensor, the reference and the ground, and keep cables away."
MAINS = SignalView((SignalSite("C4", 23.4, 50.0, 13.0, 0.21, SignalWord.MAINS, BAD),), 10.0)


class Contacts:
    """A page at C4 with reference A1 and ground A2, and what it wrote down."""

    def __init__(
        self,
        qtbot: QtBot,
        size: tuple[int, int] = SIZES[0],
        limits: ContactLimits | None = None,
        **protocol: Any,
    ):
        host = FakeHost()
        hello = host.hello()
        self.hello = replace(
            hello,
            protocol=replace(hello.protocol, **protocol),
            contact=limits or ContactLimits(),
        )
        (self.status, *_) = [m for m in host.advance(1.0) if isinstance(m, Status)]
        self.saved: list[dict[str, Any]] = []
        self.page = ContactPage(self.hello, lambda topic, values: self.saved.append(values))
        self.size = size
        show(qtbot, self.page, size)

    def type(self, **kohm: str) -> None:
        for sensor, text in kohm.items():
            write(self.page, self.page.table.lines[sensor], text)

    def tell(self, **changes: Any) -> None:
        self.status = replace(self.status, **changes)
        self.page.show_status(self.status)

    def sits(self) -> list[str]:
        return [words.text for words in self.page.table.verdicts.values()]

    def prose(self) -> str:
        return "\n".join(p.text() for p in self.page.findChildren(Prose) if p.isVisible())


@pytest.fixture
def contacts(qtbot: QtBot) -> Contacts:
    return Contacts(qtbot)


# At most 10 kΩ each, better 5, within 3 kΩ of each other: common practice.
@pytest.mark.parametrize(
    ("kohm", "sits"),
    [
        (("3", "4", "5"), ["✓ good", "✓ good", "✓ good"]),
        (("8", "9,5", "10"), ["✓ usable", "✓ usable", "✓ usable"]),
        (("4", "7.1", "4"), ["✓ good", "! uneven", "✓ good"]),
        (("10.1", "9", "9"), ["! too high", "✓ usable", "✓ usable"]),
        (("3", "900", "0.1"), ["✓ good", "! not connected", "! joined"]),
    ],
)
def test_each_sensor_is_judged_by_the_rule(
    contacts: Contacts, kohm: tuple[str, str, str], sits: list[str]
) -> None:
    contacts.type(**dict(zip(("C4", "A1", "A2"), kohm, strict=True)))
    assert contacts.sits() == sits


def test_the_limits_are_the_clinics(qtbot: QtBot) -> None:
    contacts = Contacts(qtbot, limits=ContactLimits(most_kohm=20.0, better_kohm=12.0))
    contacts.type(C4="11", A1="12", A2="13")
    assert contacts.sits() == ["✓ good", "✓ good", "✓ usable"]


def test_what_to_do_is_said_for_each_sensor_and_for_all(contacts: Contacts) -> None:
    contacts.type(C4="4", A1="34", A2="4.5")
    assert "fresh paste" in contacts.page.table.advice["A1"].text()
    assert contacts.page.next.text == (
        "Begin with A1, which every signal shares. Then save the contact."
    )
    assert contacts.page.spread.text == "They lie 30.0 kΩ apart, at most 3."


def test_good_contact_is_saved_and_leads_on_to_the_check(contacts: Contacts) -> None:
    contacts.type(C4="4", A1="3", A2="4.5")
    assert contacts.page.next.text == "Every sensor sits well: save the contact."
    contacts.page.save.setFocus()
    hands.keyClick(contacts.page.save, Key.Key_Return)
    assert contacts.page.next.text.endswith("go on to the check with the client.")
    (values,) = contacts.saved
    assert values["kohm"] == {"C4": 4.0, "A1": 3.0, "A2": 4.5}
    assert (values["fit"], values["from"], values["spread_kohm"]) == (True, "typed", 1.5)
    assert not contacts.page.save.isEnabled()
    contacts.type(C4="5")
    assert contacts.page.save.isEnabled()


def test_what_is_no_number_is_said_and_cannot_be_saved(contacts: Contacts) -> None:
    contacts.type(C4="four")
    assert contacts.page.trouble.text() == (
        "C4: “four” is no impedance; write kilo-ohms, as 4.2 or 4,2."
    )
    assert not contacts.page.save.isEnabled()


@pytest.mark.parametrize(
    ("text", "kohm"),
    [("4.2", 4.2), ("4,2", 4.2), (" 7 kΩ", 7.0), ("3k", 3.0), ("-1", None), ("inf", None)],
)
def test_kilo_ohms_are_read_as_people_write_them(text: str, kohm: float | None) -> None:
    assert read_kohm(text) == kohm


def test_what_the_amplifier_sends_fills_the_lines(contacts: Contacts) -> None:
    contacts.tell(impedances=ImpedanceView({"c4": 4.2, "reference": 3.0, "gnd": 1.0}, "Contact"))
    lines = {sensor: line.text() for sensor, line in contacts.page.table.lines.items()}
    assert lines == {"C4": "4.2", "A1": "3.0", "A2": ""}
    assert contacts.sits() == ["✓ good", "✓ good", "– not measured"]
    assert "From the amplifier: Contact." in contacts.page.source.text()
    contacts.page.save.click()
    assert contacts.saved[0]["from"] == "amplifier"


def test_what_is_typed_stands_until_its_line_is_emptied(contacts: Contacts) -> None:
    sent = ImpedanceView({"c4": 4.2}, "Contact")
    contacts.type(C4="8")
    contacts.tell(impedances=sent)
    assert contacts.page.table.kohm["C4"] == 8.0
    assert "Typed in: C4" in contacts.page.source.text()
    contacts.page.table.lines["C4"].setFocus()
    hands.keyClick(contacts.page.table.lines["C4"], Key.Key_Backspace)
    contacts.tell(impedances=sent)
    assert contacts.page.table.kohm["C4"] == 4.2


def test_an_open_lead_is_saved_without_a_number(contacts: Contacts) -> None:
    contacts.tell(impedances=ImpedanceView({"c4": float("inf"), "a1": 3.0}, "Contact"))
    assert contacts.sits()[0] == "! not connected"
    contacts.page.save.click()
    assert contacts.saved[0]["kohm"] == {"C4": None, "A1": 3.0, "A2": None}


def test_an_amplifiers_last_digit_does_not_ask_for_saving_again(contacts: Contacts) -> None:
    contacts.tell(impedances=ImpedanceView({"c4": 4.2, "a1": 3.0, "a2": 3.1}, "Contact"))
    contacts.page.save.click()
    contacts.tell(impedances=ImpedanceView({"c4": 4.3, "a1": 3.0, "a2": 3.1}, "Contact"))
    assert not contacts.page.save.isEnabled()
    contacts.tell(impedances=ImpedanceView({"c4": 14.0, "a1": 3.0, "a2": 3.1}, "Contact"))
    assert contacts.page.save.isEnabled()


def test_without_impedances_the_signal_speaks_plainly_marked_as_a_substitute(
    contacts: Contacts,
) -> None:
    contacts.tell(contact=MAINS, impedances=ABSENT)
    said = contacts.prose()
    assert SUBSTITUTE in said and f"C4: {BAD}" in said
    assert "No stream of impedances is in reach" in said
    assert [cell.text for cell in contacts.page.signal.rows.cells["C4"]] == [
        "23.4 at 50 Hz",
        "13",
        "0.21",
        "! mains",
    ]
    contacts.page.save.click()
    (values,) = contacts.saved
    assert (values["fit"], values["from"]) == (False, "signal")
    assert values["signal"]["C4"]["word"] == "mains"


def test_the_steps_are_ticked_by_key_and_kept(contacts: Contacts) -> None:
    assert contacts.page.next.text.startswith("Hook the client up: 10 steps are left.")
    for box in contacts.page.ticks.values():
        tick(box)
    assert contacts.page.next.text.startswith("Type in the impedances")
    contacts.page.save.click()
    assert contacts.saved[0]["left"] == []
    assert contacts.saved[0]["done"][0] == "asked"


def test_what_was_saved_is_shown_again(contacts: Contacts, qtbot: QtBot) -> None:
    contacts.type(C4="4", A1="3", A2="4.5")
    tick(contacts.page.ticks["seat"])
    contacts.page.save.click()
    again = Contacts(qtbot)
    again.page.show_kept(contacts.saved[0])
    assert again.sits() == ["✓ good", "✓ good", "✓ good"]
    assert again.page.ticks["seat"].isChecked()
    assert not again.page.save.isEnabled()


def test_linked_ears_are_two_sensors(qtbot: QtBot) -> None:
    contacts = Contacts(qtbot, reference="linked ears", ground="")
    assert list(contacts.page.table.lines) == ["C4", "A1", "A2", "ground"]


def test_of_a_difference_both_sites_are_asked_for(qtbot: QtBot) -> None:
    contacts = Contacts(qtbot, site="C4 - A2", reference="", ground="A1")
    assert list(contacts.page.table.lines) == ["C4", "A2", "A1"]


def test_tab_leads_to_everything(contacts: Contacts) -> None:
    contacts.type(C4="4")
    assert reachable(contacts.page) == []


@at_every_size
def test_nothing_is_cut_off(qtbot: QtBot, size: tuple[int, int]) -> None:
    contacts = Contacts(qtbot, size, reference="linked ears", ground="Fpz")
    contacts.type(C4="40", A1="8", Fpz="x")
    contacts.tell(contact=MAINS, impedances=ABSENT)
    settle(contacts.page, size)
    assert offences(contacts.page) == []


def test_nothing_is_cut_off_in_the_light(contacts: Contacts, qtbot: QtBot) -> None:
    show(qtbot, contacts.page, SIZES[0], LIGHT)
    assert offences(contacts.page) == []


def test_the_host_listens_as_long_as_the_page_is_on_screen(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.press(Key.Key_3, Ctrl)
    assert isinstance(desk.window.shown, ContactPage)
    assert desk.asked(AskContact) == [AskContact(True)]
    desk.press(Key.Key_3, Ctrl)
    desk.press(Key.Key_6, Ctrl)
    desk.press(Key.Key_2, Ctrl)
    assert desk.asked(AskContact) == [AskContact(True), AskContact(False)]


def test_at_the_desk_it_is_written_down_and_shown_to_a_desk_that_comes_back(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.window.go("contact")
    page = desk.window.shown
    assert isinstance(page, ContactPage)
    write(page, page.table.lines["C4"], "4.4")
    page.save.click()
    (asked,) = desk.asked(AskEntry)
    assert (asked.topic, asked.values["kohm"]["C4"]) == ("contact", 4.4)
    back = Sitting(qtbot)
    back.window.receive(Entry(0, 0.0, "contact", asked.values, "MK"))
    back.window.go("contact")
    shown = back.window.shown
    assert isinstance(shown, ContactPage)
    assert shown.table.kohm["C4"] == 4.4
