"""Impedances in the status: asked for while the contact is watched, and never waited for."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from engine.chunk import chunk_of
from engine.clinic import ContactLimits
from engine.errors import SourceError
from engine.session.asks import AskBegin, AskContact
from engine.session.impedances import ImpedanceView, ImpedanceWatch
from engine.session.messages import Hello, Status
from engine.stream.impedance import IMPEDANCE_TYPE, ImpedanceInlet, Impedances
from engine.stream.messages import Data, Opened, Segment
from tests.engine.session.examples import INFO
from tests.engine.session.room import DESK, Room
from tests.engine.stream.test_impedance import soon
from tests.lsl import Outlet, lsl

__all__ = ["lsl"]


class Sent:
    """An amplifier that has sent what it was told to."""

    def __init__(self) -> None:
        self.newest: Impedances | None = None
        self.trouble = "No stream of impedances is in reach."
        self.calls: list[str] = []

    def start(self) -> None:
        self.calls.append("start")

    def latest(self) -> Impedances | None:
        return self.newest

    def let_go(self) -> None:
        self.calls.append("let go")

    def stop(self) -> None:
        self.calls.append("stop")


class Watched(Room):
    """A room whose amplifier sends impedances."""

    def __init__(self, folder: Path):
        self.sent = Sent()
        super().__init__(
            folder, contact=ContactLimits(most_kohm=20.0), impedances=lambda: self.sent
        )
        self.ready(DESK)

    @property
    def view(self) -> ImpedanceView | None:
        self.audience.tell_status()
        status = self.told(DESK, Status)[-1]
        assert isinstance(status, Status)
        return status.impedances


@pytest.fixture
def room(tmp_path: Path) -> Watched:
    return Watched(tmp_path)


def test_they_are_in_the_status_as_long_as_the_contact_is_watched(room: Watched) -> None:
    room.opened()
    assert room.view is None
    room.conductor.asked(AskContact(True))
    assert room.view == ImpedanceView({}, remark="No stream of impedances is in reach.")
    room.sent.newest = Impedances({"c4": 4.2, "reference": None}, "Contact")
    assert room.view == ImpedanceView({"c4": 4.2, "reference": None}, "Contact")
    room.conductor.asked(AskContact(False))
    assert room.view is None
    assert room.sent.calls == ["start", "let go"]
    room.parts.let_go()
    assert room.sent.calls == ["start", "let go", "stop"]


def test_who_watches_before_the_stream_opens_is_served_when_it_does(room: Watched) -> None:
    room.conductor.asked(AskContact(True))
    room.opened()
    room.data(3.0)
    status = room.told(DESK, Status)[-1]
    assert status.contact is not None and status.impedances is not None


def test_the_contact_is_watched_on_at_another_site(room: Watched) -> None:
    room.opened()
    room.conductor.asked(AskContact(True))
    room.conductor.asked(AskBegin("longer-hold"))
    assert room.live.preparation.contact_watched


def test_channels_of_ohms_beside_the_eeg_are_read_without_another_stream(room: Watched) -> None:
    info = replace(
        INFO, ch_names=("C4", "A2", "Z C4"), units=("µV", "µV", "Ohm"), to_uv=(1.0, 1.0, 1.0)
    )
    room.conductor.source_said(Opened(info, 250.0))
    room.conductor.source_said(Segment(0.0, "start"))
    room.conductor.asked(AskContact(True))
    raw = np.tile([0.0, 0.0, 6200.0], (25, 1))
    room.conductor.source_said(Data(chunk_of(raw, info.to_uv)))
    assert room.view == ImpedanceView({"c4": 6.2}, "desk amplifier")


def test_the_desk_is_told_the_clinics_limits(room: Watched) -> None:
    room.opened()
    assert room.told(DESK, Hello)[-1].contact.most_kohm == 20.0


def test_where_streams_are_out_of_reach_it_says_so_and_goes_on() -> None:
    def out_of_reach() -> Sent:
        raise SourceError("LSL has no private configuration.")

    watch = ImpedanceWatch(out_of_reach)
    watch.watch(True)
    assert watch.view == ImpedanceView({}, remark="LSL has no private configuration.")
    watch.close()


def test_over_lsl_kilo_ohms_come_from_the_amplifiers_own_stream(lsl: str) -> None:
    outlet = Outlet(
        name="Contact",
        kind=IMPEDANCE_TYPE,
        labels=("C4", "REF"),
        units=("kOhm", "kOhm"),
        sfreq=0.0,
        source_id="contact-of-a-session",
    )
    watch = ImpedanceWatch(lambda: ImpedanceInlet("Contact"))
    watch.watch(True)

    def arrived() -> bool:
        outlet.send(1, 5.0)
        return watch.view == ImpedanceView({"c4": 5.0, "reference": 5.0}, "Contact")

    assert soon(arrived)
    watch.close()
    outlet.close()
    assert watch.view is None
