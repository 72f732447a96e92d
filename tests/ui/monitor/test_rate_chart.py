from dataclasses import replace

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from tests.ui.monitor.sitting import Sitting
from ui.monitor.rate_chart import AHEAD_SHARE, RateChart, course_since


def test_a_rest_is_a_hole_in_the_course() -> None:
    history = tuple((float(t), 12.0) for t in (1, 2, 3, 40, 41))
    times, rates = course_since(history, 0.0)
    assert np.isnan(rates).tolist() == [False, False, False, True, False, False]
    assert np.all(np.diff(times) > 0)


def test_only_what_is_in_view_is_taken() -> None:
    history = tuple((float(t), float(t)) for t in range(1000))
    times, rates = course_since(history, 520.0)
    assert (times[0], times[-1], rates.size) == (520.0, 999.0, 480)


def test_an_empty_course_is_empty() -> None:
    times, rates = course_since((), 0.0)
    assert times.size == rates.size == 0


def shown(qtbot: QtBot, history: list[tuple[float, float]], ceiling: float = 40.0) -> RateChart:
    desk = Sitting(qtbot)
    desk.train()
    status = replace(
        desk.host.status(),
        time_s=history[-1][0],
        rate_history=tuple(history),
        ceiling=ceiling,
    )
    desk.page.memory.take(status)
    desk.page.chart_card.chart.show_status(desk.page.memory)
    return desk.page.chart_card.chart


@pytest.mark.parametrize(("length_s", "window_s"), [(60, 120), (121, 240), (300, 480), (3600, 480)])
def test_the_picture_holds_the_session_so_far_and_then_the_last_eight_minutes(
    qtbot: QtBot, length_s: int, window_s: float
) -> None:
    chart = shown(qtbot, [(float(t), 12.0) for t in range(1, length_s + 1)])
    (left, right), _ = chart.box.viewRange()
    assert right == pytest.approx(length_s + AHEAD_SHARE * window_s)
    assert left == length_s - window_s


def test_the_zone_is_always_in_the_picture_and_so_is_every_grown_rate(qtbot: QtBot) -> None:
    calm = shown(qtbot, [(float(t), 2.0) for t in range(1, 100)])
    assert calm.top >= 1.5 * 15.0
    high = shown(qtbot, [(float(t), 33.0) for t in range(1, 100)])
    assert high.top >= 33.0


def test_the_leaps_of_the_first_seconds_do_not_squeeze_the_picture(qtbot: QtBot) -> None:
    leaps = [(float(t), 60.0) for t in range(1, 20)]
    chart = shown(qtbot, [*leaps, *((float(t), 12.0) for t in range(20, 100))])
    assert chart.top <= 40.0


def test_a_ceiling_near_the_top_is_drawn_inside(qtbot: QtBot) -> None:
    history = [(float(t), 12.0) for t in range(1, 100)]
    assert shown(qtbot, history, ceiling=32.0).top > 32.0
    assert shown(qtbot, history, ceiling=57.0).top < 57.0
