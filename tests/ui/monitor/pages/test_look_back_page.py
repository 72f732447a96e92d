"""The page that looks back: drawn from a course, zoomed, read, and turned to the client."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from PyQt6.QtCore import Qt
from pytestqt.qtbot import QtBot

from engine.events import Reason
from engine.lookback.course import Course, Span
from engine.lookback.review import review
from tests.engine.lookback.courses import PROTOCOL, made_course, nudged
from tests.ui.monitor.pages.looking import Key, at_every_size, hands, offences, reachable, show
from ui.monitor.pages.course_curves import bin_for, curves_of, hidden_spans
from ui.monitor.pages.look_back_page import EMPTY, MOST_LANES, LookBackPage
from ui.monitor.parts import Words
from ui.theme import LIGHT

N = 1200


def course_of(protocol: Any = PROTOCOL) -> Course:
    """Return twenty minutes: a baseline, three rounds, a nudge, a hidden stretch, a baseline."""
    n = len(protocol.conditions)
    rng = np.random.default_rng(5)
    levels = np.tile([8.0, 4.4, 5.0], (N, (n + 2) // 3))[:, :n] + rng.normal(size=(N, n)) * 0.4
    points = np.zeros(N, dtype=np.int64)
    points[140:1000:5] = 1
    course = made_course(
        levels,
        points=points,
        rounds=((130.0, 400.0), (430.0, 700.0), (730.0, 1000.0)),
        baselines=(("baseline before", 0.0, 120.0), ("baseline after", 1020.0, 1140.0)),
        changes=(nudged(500.0, f"{protocol.conditions[1].band}.threshold", 4.0, 4.2),),
        protocol=protocol,
    )
    return replace(
        course, spans=(Span(600.0, 640.0, Reason.MUSCLE), Span(641.0, 642.0, Reason.BLINK))
    )


def opened(saved: list[Any] | None = None) -> LookBackPage:
    """Return a page, and what it saves."""
    kept: list[Any] = [] if saved is None else saved
    return LookBackPage(
        lambda topic, values: kept.append((topic, values)),
        lambda: kept.append("again"),
        lambda: kept.append("report"),
    )


# ---- what is drawn ---------------------------------------------------------------------------


def test_curves_are_means_over_clear_ticks_of_each_bin() -> None:
    levels = np.column_stack([np.arange(20.0), np.full(20, 4.0), np.full(20, 5.0)])
    clear = np.ones(20)
    clear[3] = 0.0
    curves = curves_of(made_course(levels, clear=clear), 0.0, 20.0)
    assert curves.bin_s == 1.0
    assert curves.mean_uv[2, 0] == pytest.approx(2.0)
    assert np.isnan(curves.mean_uv[3, 0])
    assert curves.place(7.4) == 7 and curves.place(99.0) is None


def test_a_long_stretch_is_thinned_until_it_can_be_read() -> None:
    assert [bin_for(s) for s in (60, 181, 900, 3600, 4 * 3600)] == [1.0, 2.0, 5.0, 30.0, 60.0]
    curves = curves_of(course_of(), 0.0, float(N))
    assert curves.bin_s == 10.0 and curves.time_s.shape == (120,)
    assert np.nanmean(curves.mean_uv[:, 1]) == pytest.approx(4.4, abs=0.05)


def test_a_threshold_steps_where_it_was_changed() -> None:
    times, levels = course_of().threshold_line("smr", 1140.0)
    assert times.tolist() == [0.0, 500.0, 500.0, 1140.0]
    assert levels.tolist() == [4.0, 4.0, 4.2, 4.2]


def test_hidden_spans_that_lie_close_are_one() -> None:
    assert hidden_spans(course_of()) == ((600.0, 640.0, ""), (641.0, 642.0, ""))
    assert hidden_spans(course_of(), 2.0) == ((600.0, 642.0, ""),)


# ---- the page --------------------------------------------------------------------------------


def test_without_a_course_it_says_what_is_missing(qtbot: QtBot) -> None:
    page = opened()
    show(qtbot, page)
    assert page.next.text == EMPTY
    assert not page.turn.isEnabled()


@at_every_size
@pytest.mark.parametrize("palette", [None, LIGHT], ids=["dark", "light"])
def test_nothing_is_cut_off(qtbot: QtBot, size: tuple[int, int], palette: Any) -> None:
    page = opened()
    show(qtbot, page, size, *([palette] if palette else []))
    page.show_review(review(course_of()))
    hands.qWait(1)
    assert offences(page) == []
    assert [row.name for row in page.table.rows][-1] == "the session"
    hands.keyClick(page.turn, Key.Key_Return)
    hands.qWait(1)
    assert page.client.isVisible() and not page.own.isVisible()
    texts = [w for w in page.findChildren(Words) if w.isVisible()]
    assert all(w.fits() for w in texts)


def test_rounds_and_baselines_stand_in_rows(qtbot: QtBot) -> None:
    page = opened()
    show(qtbot, page)
    page.show_review(review(course_of()))
    rows = {row.name: row.cells for row in page.table.rows}
    assert list(rows) == [
        "baseline before",
        "round 1",
        "round 2",
        "round 3",
        "baseline after",
        "the session",
    ]
    assert rows["round 2"][0] == "4:30" and rows["round 2"][-3:] == ("54", "12.0", "12.0")
    assert rows["baseline after"][-3:] == ("–", "–", "–")
    assert "160 points" in page.said.text


def test_the_cursor_reads_what_lies_below_it(qtbot: QtBot) -> None:
    page = opened()
    show(qtbot, page)
    page.show_review(review(course_of()))
    page.chart.setFocus()
    page.chart.move_cursor(615.0)
    words = page.reading.text
    assert words.startswith("at 10:15   theta 8.") and "12.0 points a minute" in words
    assert "round 2" in words and words.endswith("hidden")
    hands.keyClick(page.chart, Key.Key_Right)
    assert page.chart.cursor_s == 625.0
    assert page.reading.text.startswith("at 10:25")


def test_zoom_goes_about_the_cursor_and_is_taken_back(qtbot: QtBot) -> None:
    page = opened()
    show(qtbot, page)
    page.show_review(review(course_of()))
    assert page.chart.view == (0.0, float(N)) and not page.undo.isEnabled()
    page.chart.move_cursor(300.0)
    hands.mouseClick(page.closer, Qt.MouseButton.LeftButton)
    assert page.chart.view == (150.0, 750.0) and page.undo.isEnabled()
    hands.keyClick(page.chart, Key.Key_Plus)
    assert page.chart.view == (225.0, 525.0)
    hands.keyClick(page.chart, Key.Key_Backspace)
    assert page.chart.view == (150.0, 750.0)
    page.show_review(review(course_of()))
    assert page.chart.view == (150.0, 750.0)  # drawn again, it stays where it was looked at
    hands.keyClick(page.chart, Key.Key_Home)
    assert page.chart.view == (0.0, float(N))


def test_a_band_that_is_not_wanted_goes(qtbot: QtBot) -> None:
    page = opened()
    show(qtbot, page)
    page.show_review(review(course_of()))
    assert len(page.chart.lanes) == 4
    hands.keyClick(page.ticks[0], Key.Key_Space)
    assert len(page.chart.lanes) == 3
    assert len(page.table.rows[0].cells) == 2 + 2 + 3


def test_of_twelve_bands_some_are_drawn_and_any_can_be_chosen(qtbot: QtBot) -> None:
    many = tuple(
        replace(PROTOCOL.conditions[i % 3], band=f"band{i}", label=f"band {i}") for i in range(12)
    )
    page = opened()
    show(qtbot, page)
    page.show_review(review(course_of(replace(PROTOCOL, conditions=many))))
    assert len(page.chart.lanes) == MOST_LANES + 1
    assert not page.ticks[-1].isEnabled()
    page.ticks[0].setChecked(False)
    page.ticks[-1].setChecked(True)
    assert len(page.chart.lanes) == MOST_LANES + 1


def test_a_rating_is_kept_and_the_page_leads_on(qtbot: QtBot) -> None:
    saved: list[Any] = []
    page = opened(saved)
    show(qtbot, page)
    page.show_review(review(course_of()))
    assert page.next.text == "Turn it to the client, then ask how it was."
    page.rating.rating.pick("8")
    assert page.next.text == "Keep the client's rating."
    hands.keyClick(page.rating.keep, Key.Key_Return)
    assert saved == [("rating", {"rating": 8, "words": ""})]
    assert page.next.text == "Go on to Care."
    page.refresh.click()
    page.report.click()
    assert saved[-2:] == ["again", "report"]


def test_all_can_be_reached_by_tab(qtbot: QtBot) -> None:
    page = opened()
    show(qtbot, page)
    page.show_review(review(course_of()))
    assert reachable(page) == []
