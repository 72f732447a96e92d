from dataclasses import replace

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from engine.session.messages import BandResponse
from tests.ui.monitor.sitting import Sitting
from ui.monitor.parts import Words
from ui.monitor.response import ResponseSheet, gain_at, readings

SLOPE = BandResponse("SMR", 12.0, 15.0, np.arange(0.0, 61.0), np.arange(0.0, 61.0) / 100.0)
"""A gain of 1 % a hertz: every reading is known."""


def test_a_gain_is_read_between_the_points_and_not_beyond_them() -> None:
    assert gain_at(SLOPE, 13.5) == pytest.approx(0.135)
    assert np.isnan(gain_at(SLOPE, 61.5))


def test_the_readings_stand_at_the_right_frequencies() -> None:
    values = dict(readings(SLOPE))
    assert values == pytest.approx(
        {
            "at the centre": 0.135,
            "least in the band": 0.12,
            "an octave below": 0.06,
            "an octave above": 0.30,
            "10 Hz": 0.10,
            "11 Hz": 0.11,
            "50 Hz": 0.50,
            "60 Hz": 0.60,
        }
    )


def test_the_page_shows_one_curve_and_one_row_a_condition(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.window.do("response")
    sheet = desk.window.sheet
    assert isinstance(sheet, ResponseSheet)
    assert sheet.picture is not None
    highest = [float(np.max(curve.getData()[1])) for curve in sheet.picture.curves]
    assert highest == pytest.approx([100.0, 100.0, 100.0], abs=0.1)
    texts = [words.text for words in sheet.findChildren(Words)]
    assert [t for t in texts if t.endswith("Hz") and "–" in t] == [
        "theta, 4–8 Hz",
        "SMR, 12–15 Hz",
        "high beta, 20–30 Hz",
    ]


def test_without_a_report_of_the_filters_the_page_says_so(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.window.receive(replace(desk.host.renew(responses=()), title="WREN-02"))
    desk.window.do("response")
    assert desk.window.sheet is not None
    texts = [words.text for words in desk.window.sheet.findChildren(Words)]
    assert "This stream's filters have not been reported." in texts
