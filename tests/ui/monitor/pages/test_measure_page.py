import json
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from PyQt6.QtGui import QImage, QPainter
from pytestqt.qtbot import QtBot

from engine.practice.head import head_from
from tests.ui.monitor.pages.looking import (
    SIZES,
    Key,
    at_every_size,
    hands,
    offences,
    reachable,
    settle,
    show,
    write,
)
from ui.monitor.head_picture import draw_mark
from ui.monitor.pages.measure_page import MeasurePage
from ui.theme import DARK, LIGHT, Look

THREE = ("36.0", "34.0", "56.0")


class Measuring:
    """A page for C4 against the right ear, and what it was asked to keep."""

    def __init__(self, qtbot: QtBot, size: tuple[int, int] = SIZES[0], **more: Any):
        self.kept: list[dict[str, Any]] = []
        hookup = {"site": "C4", "reference": "A2", "ground": "A1"} | more
        self.page = MeasurePage(save=self.kept.append, today=lambda: date(2026, 11, 26), **hookup)
        self.size = size
        show(qtbot, self.page, size)

    def measure(self, *lengths: str) -> None:
        for field, text in zip(self.page.lengths.values(), lengths, strict=True):
            write(self.page, field.line, text)
        settle(self.page, self.size)

    def cell(self, site: str, column: int) -> str:
        return next(row.cells[column] for row in self.page.table.rows if row.site == site)


def test_three_lengths_give_every_distance_as_they_are_written(qtbot: QtBot) -> None:
    sitting = Measuring(qtbot)
    assert sitting.cell("C4", 3) == "–"
    sitting.measure(*THREE)
    assert [sitting.cell(site, 3) for site in ("Cz", "C4", "Fp1", "F7", "O1", "T3")] == [
        "18.0 cm", "6.8 cm", "2.8 cm", "8.4 cm", "25.2 cm", "13.6 cm",
    ]  # fmt: skip
    assert sitting.cell("C4", 2) == "right of Cz"
    assert len([row for row in sitting.page.table.rows if not row.is_mark]) == 21
    assert "C4: 6.8 cm to the right of Cz" in sitting.page.next.text


def test_inches_are_read_as_inches(qtbot: QtBot) -> None:
    sitting = Measuring(qtbot)
    sitting.page.unit.options["cm"].setFocus()
    hands.keyClick(sitting.page.unit.options["cm"], Key.Key_Right)
    sitting.measure("14", "13 1/2", "22,0")
    assert sitting.cell("Cz", 3) == "7.00 in (7)"
    assert sitting.cell("C4", 3) == "2.70 in (2 11/16)"


def test_the_sites_between_come_from_two_spans_and_their_disagreement(qtbot: QtBot) -> None:
    sitting = Measuring(qtbot)
    sitting.measure(*THREE)
    assert sitting.cell("F3", 4) == "measure Fz–F7 and C3–Fp1"
    write(sitting.page, sitting.page.spans["Fz-F7"], "12.4")
    write(sitting.page, sitting.page.spans["C3-Fp1"], "13")
    assert sitting.cell("F3", 3) == "6.2 cm"
    assert sitting.cell("F3", 4) == "C3–Fp1: 6.5; how far apart?"
    write(sitting.page, sitting.page.apart["F3"], "0.4")
    assert sitting.cell("F3", 4) == "C3–Fp1: 6.5; 0.4 apart"
    write(sitting.page, sitting.page.apart["F3"], "1.4")
    assert sitting.cell("F3", 4) == "C3–Fp1: 6.5; 1.4 apart: again"


def test_an_unlikely_length_is_questioned_and_can_be_kept_all_the_same(qtbot: QtBot) -> None:
    sitting = Measuring(qtbot)
    sitting.measure("36", "34", "76")
    assert "76.0 cm" in sitting.page.said.text() and "?" in sitting.page.said.text()
    assert "questions" in sitting.page.next.text
    sitting.page.keep.click()
    assert sitting.kept[0]["circumference_cm"] == 76.0


def test_uneven_halves_are_shown(qtbot: QtBot) -> None:
    sitting = Measuring(qtbot)
    sitting.measure(*THREE)
    left, right = sitting.page.halves["preauricular"]
    write(sitting.page, left, "17.4")
    assert "one half is open" in sitting.page.trouble.text()
    write(sitting.page, right, "16.6")
    assert sitting.page.trouble.text() == ""
    assert "the left is 0.8 cm longer" in sitting.page.said.text()


@pytest.mark.parametrize(
    ("text", "said"), [("wide", "“wide” is no length"), ("-3", "no length"), ("900", "900")]
)
def test_what_is_no_length_is_said(qtbot: QtBot, text: str, said: str) -> None:
    sitting = Measuring(qtbot)
    sitting.measure(*THREE)
    write(sitting.page, sitting.page.lengths["preauricular"].line, text)
    assert said in sitting.page.trouble.text()
    assert sitting.cell("C4", 3) == "–"
    assert not sitting.page.keep.isEnabled()


def test_what_is_kept_comes_back_next_time(qtbot: QtBot) -> None:
    first = Measuring(qtbot)
    first.measure(*THREE)
    write(first.page, first.page.spans["Fz-F7"], "12.4")
    write(first.page, first.page.halves["circumference"][0], "28.2")
    write(first.page, first.page.halves["circumference"][1], "27.8")
    first.page.keep.setFocus()
    hands.keyClick(first.page.keep, Key.Key_Return)
    (values,) = first.kept
    assert json.loads(json.dumps(values)) == values
    assert head_from(values).measured_on == "2026-11-26"
    assert not first.page.keep.isEnabled()
    second = Measuring(qtbot, head=values)
    assert second.page.head is not None
    assert second.page.head.values() | {"measured_on": "2026-11-26"} == values
    assert "Kept with the client on 2026-11-26" in second.page.next.text
    assert second.kept == []


def test_a_kept_head_that_makes_no_sense_is_said_and_measured_anew(qtbot: QtBot) -> None:
    sitting = Measuring(qtbot, head={"nasion_inion_cm": "long"})
    assert "measure it anew" in sitting.page.trouble.text()
    assert sitting.page.head is None


def test_site_reference_and_ground_are_marked(qtbot: QtBot) -> None:
    sitting = Measuring(qtbot, site="F3", reference="linked ears", ground="M1")
    table = sitting.page.table
    marks = {row.site: table.mark_of(row.site) for row in table.rows if table.mark_of(row.site)}
    assert marks == {"F3": "site", "A1": "reference", "A2": "reference"}
    sitting.page.show_hookup("C3 - A1", "", "right ear")
    marks = {row.site: table.mark_of(row.site) for row in table.rows if table.mark_of(row.site)}
    assert marks == {"C3": "site", "A1": "reference", "A2": "ground"}


def test_the_marks_differ_in_shape_not_only_in_colour() -> None:
    """A disc is widest in its middle, a square as wide everywhere, a triangle widest below."""
    widths = {}
    for kind in ("site", "reference", "ground"):
        image = QImage(60, 60, QImage.Format.Format_Grayscale8)
        image.fill(0)
        painter = QPainter(image)
        draw_mark(painter, Look(DARK, 1.0), kind, 30, 30, 20)
        painter.end()
        row = [sum(image.pixelColor(x, y).value() > 60 for x in range(60)) for y in range(60)]
        widths[kind] = row[17], row[30], row[43]
    above, middle, below = widths["site"]
    assert above < middle > below
    above, middle, below = widths["reference"]
    assert above == middle == below
    above, middle, below = widths["ground"]
    assert above < middle < below


def test_everything_is_reached_by_tab(qtbot: QtBot) -> None:
    sitting = Measuring(qtbot)
    sitting.measure(*THREE)
    assert reachable(sitting.page) == []


def usual(sitting: Measuring) -> None:
    sitting.measure(*THREE)


def full(sitting: Measuring) -> None:
    sitting.page.unit.pick("in")
    sitting.measure("14.37", "13.31", "29.22")
    for line in sitting.page.spans.values():
        line.setText("4.93")
    for line in sitting.page.apart.values():
        line.setText("0.63")
    for left, right in sitting.page.halves.values():
        left.setText("6.11")
        right.setText("7.57")
    write(sitting.page, sitting.page.lengths["nasion-inion"].line, "13.94")
    settle(sitting.page, sitting.size)


@at_every_size
@pytest.mark.parametrize("state", [lambda _: None, usual, full])
def test_nothing_is_cut_off(
    qtbot: QtBot, size: tuple[int, int], state: Callable[[Measuring], None]
) -> None:
    sitting = Measuring(qtbot, size)
    state(sitting)
    assert (sitting.page.width(), sitting.page.height()) == size
    assert offences(sitting.page) == []


def test_it_is_seen_in_the_light_theme_too(qtbot: QtBot) -> None:
    page = MeasurePage("Pz", "A1+A2", "Fpz", lambda _: None)
    show(qtbot, page, SIZES[1], LIGHT)
    assert offences(page) == []
