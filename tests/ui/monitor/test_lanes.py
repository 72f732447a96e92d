import pytest
from PyQt6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot

from engine.session.asks import AskNudge
from tests.ui.monitor.sitting import Sitting, hands
from ui.monitor.lanes import Lane

LEFT = Qt.MouseButton.LeftButton


def lane_of(desk: Sitting, index: int = 1) -> Lane:
    return desk.page.lanes.lanes[index]


def hold(lane: Lane) -> QPoint:
    """Take hold of the threshold line; return where."""
    at = QPoint(120, round(lane.picture.pixel_of(lane.threshold)))
    hands.mousePress(lane.picture.viewport(), LEFT, pos=at)
    return at


def test_a_dragged_line_shows_its_value_and_is_asked_for_only_when_let_go(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    lane = lane_of(desk)
    at = hold(lane)
    for dy in (3, 6, 9, 12):
        hands.mouseMove(lane.picture.viewport(), at + QPoint(0, -dy))
        assert desk.asks == []
        assert lane.tag.startswith("4.10 → ")
    hands.mouseRelease(lane.picture.viewport(), LEFT, pos=at + QPoint(0, -12))
    (ask,) = desk.asks
    assert isinstance(ask, AskNudge)
    assert (ask.key, ask.how, ask.steps) == ("smr.threshold", "drag", 0)
    assert ask.value is not None
    way = lane.picture.y_at(at.y() - 12) - lane.picture.y_at(at.y())
    assert way > 1.0
    assert ask.value == pytest.approx(4.1 + way, abs=0.006)


def test_a_line_let_go_stays_where_it_was_asked_until_the_host_follows(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    lane = lane_of(desk)
    at = hold(lane)
    hands.mouseMove(lane.picture.viewport(), at + QPoint(0, -10))
    hands.mouseRelease(lane.picture.viewport(), LEFT, pos=at + QPoint(0, -10))
    (ask,) = desk.asks
    assert isinstance(ask, AskNudge)
    assert lane.tag == f"{ask.value:.2f}"
    desk.pass_time(0.1)
    assert lane.threshold == ask.value
    assert lane.tag == f"{ask.value:.2f}"


def test_a_line_that_the_host_does_not_follow_goes_back(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    lane = lane_of(desk)
    before = desk.host.settings
    at = hold(lane)
    hands.mouseMove(lane.picture.viewport(), at + QPoint(0, -10))
    hands.mouseRelease(lane.picture.viewport(), LEFT, pos=at + QPoint(0, -10))
    desk.host.settings = before
    desk.host._events.clear()
    for _ in range(70):
        desk.window.frame()
    desk.pass_time(0.1)
    assert lane.tag == "4.10"


def test_a_line_put_back_asks_for_nothing(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    lane = lane_of(desk)
    at = hold(lane)
    hands.mouseRelease(lane.picture.viewport(), LEFT, pos=at)
    assert desk.asks == []


def test_a_click_away_from_the_line_only_chooses_the_condition(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    lane = lane_of(desk, 2)
    viewport = lane.picture.viewport()
    away = round(lane.picture.pixel_of(lane.threshold)) + 25
    hands.mouseClick(viewport, LEFT, pos=QPoint(150, away))
    hands.mouseMove(viewport, QPoint(150, away + 4))
    assert desk.asks == []
    assert desk.page.table.chosen == "high_beta.threshold"


def test_a_line_cannot_be_dragged_out_of_its_picture(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    lane = lane_of(desk)
    at = hold(lane)
    for y in (5000, -5000):
        hands.mouseMove(lane.picture.viewport(), QPoint(at.x(), y))
        assert 0.05 <= float(lane.tag.split(" ")[2].rstrip(",")) <= lane.top
    hands.mouseRelease(lane.picture.viewport(), LEFT, pos=QPoint(at.x(), 5000))
    (ask,) = desk.asks
    assert isinstance(ask, AskNudge)
    assert ask.value == 0.05


def test_the_scale_holds_the_threshold_wherever_it_is_set(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    for value in (0.05, 1.0, 4.1, 37.0, 400.0):
        desk.host.settings = desk.host.settings.changed("smr.threshold", value)
        desk.pass_time(0.1)
        assert lane_of(desk).top > value


def test_the_scale_stands_still_while_a_line_is_held(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    lane = lane_of(desk)
    hold(lane)
    top = lane.top
    desk.host.settings = desk.host.settings.changed("smr.threshold", 100.0)
    desk.pass_time(0.2)
    assert lane.top == top


def test_a_lane_shows_the_amplitudes_that_were_heard_and_marks_what_was_met(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.pass_time(10.0)
    lane = lane_of(desk)
    heard = desk.page.memory.ticks.amplitudes_uv[:, 1]
    assert lane.shown_x[-1] == pytest.approx(0.0, abs=0.2)
    assert lane.shown_x[0] == pytest.approx(-11.0, abs=0.2)
    assert lane.shown_y.mean() == pytest.approx(heard.mean(), rel=0.02)
    assert lane.shown_met.mean() == pytest.approx((heard >= 4.1).mean(), abs=0.03)
