"""A stream of impedances: the newest values, and one clear sentence where there are none."""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest

from engine.stream.impedance import IMPEDANCE_TYPE, ImpedanceInlet
from tests.lsl import Outlet, lsl

__all__ = ["lsl"]

SOON_S = 6.0


def soon(true: Callable[[], bool]) -> bool:
    deadline = time.monotonic() + SOON_S
    while time.monotonic() < deadline:
        if true():
            return True
        time.sleep(0.05)
    return False


def amplifier(units: tuple[str, ...] | None = ("Ohm", "kOhm")) -> Outlet:
    return Outlet(
        name="Contact",
        kind=IMPEDANCE_TYPE,
        labels=("C4", "REF"),
        units=units,
        sfreq=0.0,
        source_id="contact-1",
    )


def test_ohms_and_kilo_ohms_arrive_by_sensor(lsl: str) -> None:
    outlet = amplifier()
    inlet = ImpedanceInlet()
    inlet.start()

    def arrived() -> bool:
        outlet.send(1, 5.0)
        latest = inlet.latest()
        return latest is not None and latest.kohm == pytest.approx({"c4": 0.005, "reference": 5.0})

    assert soon(arrived)
    assert inlet.trouble == ""
    inlet.stop()
    outlet.close()


def test_a_stream_without_a_unit_is_read_only_with_the_clinics(lsl: str) -> None:
    outlet = amplifier(units=None)
    plain, told = ImpedanceInlet(), ImpedanceInlet(name="Contact", unit="kohm")
    plain.start()
    told.start()

    def settled() -> bool:
        outlet.send(1, 7.0)
        return "contact.impedance_unit" in plain.trouble and told.latest() is not None

    assert soon(settled)
    latest = told.latest()
    assert latest is not None and latest.kohm == {"c4": 7.0, "reference": 7.0}
    assert plain.latest() is None
    plain.stop()
    told.stop()
    outlet.close()


def test_without_a_stream_it_says_what_to_do_and_stops_at_once(lsl: str) -> None:
    inlet = ImpedanceInlet(name="Nobody")
    inlet.start()
    assert soon(lambda: "type them in" in inlet.trouble)
    began = time.monotonic()
    inlet.stop()
    assert time.monotonic() - began < 3.0


def test_a_stream_that_ends_is_found_again(lsl: str) -> None:
    first = amplifier()
    inlet = ImpedanceInlet()
    inlet.start()

    def arrives(outlet: Outlet) -> bool:
        outlet.send(1, 3.0)
        return inlet.latest() is not None and inlet.trouble == ""

    assert soon(lambda: arrives(first))
    first.close()
    assert soon(lambda: "looked for again" in inlet.trouble)
    second = amplifier()
    assert soon(lambda: arrives(second))
    inlet.stop()
    second.close()
