"""The forecast on the desk, with hands at keys and mouse."""

from dataclasses import replace

import numpy as np
import pytest
from PyQt6.QtCore import QPoint, QPointF, Qt
from pytestqt.qtbot import QtBot

from engine.reward.advice import Advice, Change
from engine.reward.forecast import Forecast
from engine.session.asks import AskMap, AskNudge, AskUndo
from engine.session.foresight import Foresight
from tests.ui.monitor.fake_host import THREE
from tests.ui.monitor.sitting import Ctrl, Key, Sitting, hands
from ui.monitor.map_view import MapView
from ui.monitor.rate_card import AGAIN_S
from ui.monitor.wording import about, span_short

LEFT = Qt.MouseButton.LeftButton


def foreseen(qtbot: QtBot, seconds: float = 45.0) -> tuple[Sitting, Foresight]:
    desk = Sitting(qtbot)
    desk.train(seconds)
    return desk, desk.foresee()


def advised(desk: Sitting, change: Change | None, second: Change | None = None) -> None:
    """Let a forecast come that advises ``change``."""
    found = desk.host.foresight()
    advice = Advice(found.outlook.now, change, second, "" if change else "leave it: calm")
    desk.window.receive(replace(found, outlook=replace(found.outlook, advice=advice)))
    desk.draw()


SMR = Change("smr.threshold", 4.5, Forecast(12.2, 8.1, 16.4), 1.0)
HOLD = Change("hold", 0.7, Forecast(13.4, 9.0, 18.0), 1.5)


# ---- beside every setting -----------------------------------------------------------------------


def test_every_setting_shows_what_a_step_each_way_leads_to(qtbot: QtBot) -> None:
    desk, foresight = foreseen(qtbot)
    table = desk.page.table
    steppers = {row.keys[0]: row.threshold for row in table.rows}
    steppers |= {time.key: time.stepper for time in table.times}
    shown = {}
    for candidate in foresight.outlook.one_step:
        if candidate.key in steppers:
            up = candidate.value > foresight.settings.value(candidate.key)
            cell = steppers[candidate.key].foretold[int(up)]
            assert cell.rate == about(candidate.forecast.rate)
            assert cell.span == span_short(candidate.forecast)
            assert cell.in_zone == (10 <= round(candidate.forecast.rate) <= 15)
            assert cell.fresh and cell.isVisible()
            shown[candidate.key, up] = cell
    assert len(shown) == 2 * len(steppers)


def test_averaging_shows_its_rates_too_and_its_interval_in_words(qtbot: QtBot) -> None:
    desk, foresight = foreseen(qtbot)
    stepper = desk.page.table.rows[1].averaging
    (more,) = [c for c in foresight.outlook.one_step if c.key == "smr.averaging" and c.value > 0.24]
    assert stepper.foretold[1].rate == about(more.forecast.rate)
    assert f"{about(more.forecast.low)} to {about(more.forecast.high)}" in stepper.more.toolTip()


def test_a_forecast_of_other_settings_is_dim_until_the_next_comes(qtbot: QtBot) -> None:
    desk, _ = foreseen(qtbot)
    cell = desk.page.table.rows[1].threshold.foretold[0]
    desk.press(Key.Key_Plus)
    desk.pass_time(0.1)
    assert cell.rate and not cell.fresh
    desk.foresee()
    assert cell.fresh


def test_a_forecast_that_does_not_come_any_more_grows_dim(qtbot: QtBot) -> None:
    desk, _ = foreseen(qtbot)
    desk.pass_time(8.0)
    assert not desk.page.table.rows[1].threshold.foretold[0].fresh


# ---- advice -------------------------------------------------------------------------------------


def test_the_advice_is_one_sentence_and_its_key_makes_exactly_that_nudge(qtbot: QtBot) -> None:
    desk, _ = foreseen(qtbot)
    advised(desk, SMR, HOLD)
    advised(desk, SMR, HOLD)
    line = desk.page.chart_card.advice
    assert line.sentence == "SMR threshold to 4.50: about 12 a minute (8 to 16)."
    assert line.runner_up.text == "or hold to 0.70: 13"
    desk.press(Key.Key_N)
    assert desk.asks == [AskNudge("smr.threshold", "advice", value=4.5)]
    desk.pass_time(0.1)
    assert desk.page.table.chosen == "smr.threshold"
    assert desk.page.table.rows[1].threshold.figure.text == "4.50"


def test_the_advice_is_followed_by_its_button_and_only_once(qtbot: QtBot) -> None:
    desk, _ = foreseen(qtbot)
    advised(desk, HOLD)
    advised(desk, HOLD)
    line = desk.page.chart_card.advice
    assert line.sentence == "Hold time to 0.70 s: about 13 a minute (9 to 18)."
    desk.click(line.button)
    desk.pass_time(0.1)
    desk.click(line.button)
    desk.press(Key.Key_N)
    assert desk.asks == [AskNudge("hold", "advice", value=0.7)]


def test_where_nothing_is_advised_the_key_does_nothing(qtbot: QtBot) -> None:
    desk, _ = foreseen(qtbot)
    advised(desk, None)
    advised(desk, None)
    line = desk.page.chart_card.advice
    assert line.sentence.startswith("Leave it: about ")
    assert not line.button.isVisible()
    desk.press(Key.Key_N)
    assert desk.asks == []


@pytest.mark.parametrize("key", [Key.Key_Return, Key.Key_Enter, Key.Key_Space])
def test_no_key_hit_by_accident_follows_the_advice(qtbot: QtBot, key: Key) -> None:
    desk, _ = foreseen(qtbot)
    advised(desk, SMR)
    desk.press(key)
    assert desk.asks == []


def test_too_little_clear_signal_is_said(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.train(11.0)
    desk.foresee()
    line = desk.page.chart_card.advice
    assert line.sentence.startswith("Too little clear signal to tell: 1")
    assert line.sentence.endswith("of 30 s so far.")
    assert desk.page.table.rows[0].threshold.foretold[0].rate == ""


def test_before_the_first_forecast_nothing_is_advised(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.press(Key.Key_N)
    assert desk.asks == []
    assert not desk.page.chart_card.advice.button.isVisible()


# ---- undo, and the last minute again -------------------------------------------------------------


def test_the_last_nudge_is_taken_back_by_key_and_by_button(qtbot: QtBot) -> None:
    desk, _ = foreseen(qtbot)
    desk.press(Key.Key_2)
    desk.press(Key.Key_Plus)
    desk.press(Key.Key_Plus)
    desk.press(Key.Key_Z, Ctrl)
    desk.click(desk.page.table.undo)
    assert desk.asks[-2:] == [AskUndo(), AskUndo()]
    desk.pass_time(0.1)
    assert desk.page.table.rows[1].threshold.figure.text == "4.10"


def test_taking_back_words_of_a_note_takes_back_no_nudge(qtbot: QtBot) -> None:
    desk, _ = foreseen(qtbot)
    desk.press(Key.Key_F2)
    hands.keyClicks(desk.page.footer.note, "calmer")
    desk.press(Key.Key_Z, Ctrl)
    assert desk.asks == []


def test_one_key_shows_the_last_minute_as_it_would_be_scored_now(qtbot: QtBot) -> None:
    desk, foresight = foreseen(qtbot)
    rate = desk.page.rate
    assert rate.other_caption.text == "since the last change"
    desk.press(Key.Key_L)
    assert rate.other_caption.text == "the last minute would have been"
    assert foresight.last_minute is not None
    assert rate.other.text == about(foresight.last_minute)
    desk.pass_time(AGAIN_S + 0.1)
    assert rate.other_caption.text == "since the last change"
    desk.foresee()
    desk.click(rate.again)
    assert rate.other_caption.text == "the last minute would have been"


def test_after_every_nudge_the_last_minute_is_shown_once_it_is_scored(qtbot: QtBot) -> None:
    desk, _ = foreseen(qtbot)
    rate = desk.page.rate
    desk.press(Key.Key_2)
    desk.press(Key.Key_Plus)
    desk.pass_time(0.1)
    assert rate.other_caption.text == "since SMR 4.10 → 4.20"
    foresight = desk.foresee()
    assert foresight.settings.value("smr.threshold") == 4.2
    assert rate.other_caption.text == "the last minute would have been"
    desk.pass_time(AGAIN_S + 0.1)
    assert rate.other_caption.text == "since SMR 4.10 → 4.20"


# ---- preview ------------------------------------------------------------------------------------


def test_a_held_line_tells_what_letting_go_would_bring_in_three_places(qtbot: QtBot) -> None:
    desk, _ = foreseen(qtbot)
    lane = desk.page.lanes.lanes[1]
    viewport = lane.picture.viewport()
    at = QPoint(120, round(lane.picture.pixel_of(lane.threshold)))
    hands.mousePress(viewport, LEFT, pos=at)
    hands.mouseMove(viewport, at + QPoint(0, -3))
    assert desk.asks == []
    preview = desk.page.memory.preview
    assert preview is not None
    found = desk.page.memory.ahead.at(*preview)
    assert found is not None
    words = f"about {about(found.rate)} ({about(found.low)} to {about(found.high)})"
    assert lane.tag == f"4.10 → {preview[1]:.2f}: {words}"
    assert desk.page.rate.other_caption.text == f"if SMR threshold to {preview[1]:.2f}"
    assert desk.page.rate.other.text == about(found.rate)
    before = desk.page.chart_card.chart.grab().toImage()
    hands.mouseRelease(viewport, LEFT, pos=at + QPoint(0, -3))
    assert desk.page.memory.preview is None
    assert desk.page.rate.other_caption.text == "since the last change"
    assert desk.page.chart_card.chart.grab().toImage() != before
    assert desk.asks == [AskNudge("smr.threshold", "drag", value=preview[1])]


def test_beyond_what_was_seen_a_held_line_says_that_it_cannot_be_told(qtbot: QtBot) -> None:
    desk, _ = foreseen(qtbot)
    lane = desk.page.lanes.lanes[1]
    viewport = lane.picture.viewport()
    at = QPoint(120, round(lane.picture.pixel_of(lane.threshold)))
    hands.mousePress(viewport, LEFT, pos=at)
    hands.mouseMove(viewport, QPoint(at.x(), 5000))
    assert lane.tag == "4.10 → 0.05: cannot be told"
    assert desk.page.rate.other_words[0].text == "cannot be told"
    hands.mouseRelease(viewport, LEFT, pos=at)


# ---- the map ------------------------------------------------------------------------------------


def mapped(qtbot: QtBot) -> tuple[Sitting, MapView]:
    desk, _ = foreseen(qtbot)
    desk.press(Key.Key_F7)
    qtbot.wait(1)
    return desk, desk.page.chart_card.map


def click_map(view: MapView, across: float, up: float) -> None:
    picture = view.picture
    at = picture.mapFromScene(picture.box.mapViewToScene(QPointF(across, up)))
    hands.mouseClick(picture.viewport(), LEFT, pos=at)


def test_f7_shows_the_map_in_the_place_of_the_course_and_goes_back(qtbot: QtBot) -> None:
    desk, view = mapped(qtbot)
    assert view.isVisible() and view.picture.isVisible()
    assert not desk.page.lanes.isVisible() and not desk.page.chart_card.chart.isVisible()
    assert desk.page.rate.isVisible() and desk.page.trace.isVisible()
    desk.press(Key.Key_F7)
    assert not view.isVisible()
    assert desk.page.lanes.isVisible() and desk.page.chart_card.chart.isVisible()


def test_the_map_names_its_axes_and_marks_today(qtbot: QtBot) -> None:
    desk, view = mapped(qtbot)
    assert view.up.text == "↑ theta threshold, µV peak"
    assert view.across.text == "SMR threshold, µV peak →"
    assert view.picture.today == (4.1, 9.0)
    desk.press(Key.Key_2)
    desk.press(Key.Key_Plus)
    desk.pass_time(0.1)
    assert view.picture.today == (4.2, 9.0)


def test_a_click_chooses_a_point_and_sets_nothing(qtbot: QtBot) -> None:
    desk, view = mapped(qtbot)
    click_map(view, 4.43, 8.27)
    desk.draw()
    assert desk.asks == []
    across, up = view.picture.point or (0.0, 0.0)
    # whole nudges from today: 0.1 µV for SMR, 0.2 µV for theta
    assert (across, up) == pytest.approx((4.4, 8.2), abs=0.11)
    assert (across - 4.1) / 0.1 == pytest.approx(round((across - 4.1) / 0.1))
    assert (up - 9.0) / 0.2 == pytest.approx(round((up - 9.0) / 0.2))
    found = desk.page.memory.ahead.foresight
    assert found is not None and found.map is not None
    i = int(np.abs(found.map.up_uv - up).argmin())
    j = int(np.abs(found.map.across_uv - across).argmin())
    assert view.rate.text == about(float(found.map.rates[i, j]))


def test_two_single_changes_lead_to_the_point_one_after_the_other(qtbot: QtBot) -> None:
    desk, view = mapped(qtbot)
    click_map(view, 4.4, 8.2)
    desk.draw()
    point = view.picture.point
    assert point is not None
    desk.click(view.ways[0])
    assert desk.asks == [AskNudge("smr.threshold", "map", value=point[0])]
    desk.pass_time(0.1)
    assert not view.ways[0].isEnabled()
    assert view.picture.point == point
    desk.click(view.ways[1])
    assert desk.asks[1:] == [AskNudge("theta.threshold", "map", value=point[1])]
    desk.pass_time(0.1)
    assert view.picture.today == point
    assert not view.ways[1].isEnabled()


def test_a_point_stays_inside_the_map(qtbot: QtBot) -> None:
    desk, view = mapped(qtbot)
    found = desk.page.memory.ahead.foresight
    assert found is not None and found.map is not None
    for far in ((-99.0, -99.0), (99.0, 99.0)):
        view.choose(far)
        desk.draw()
        across, up = view.picture.point or (0.0, 0.0)
        assert found.map.across_uv[0] <= across <= found.map.across_uv[-1]
        assert found.map.up_uv[0] <= up <= found.map.up_uv[-1]


def test_other_bands_are_chosen_by_their_buttons(qtbot: QtBot) -> None:
    desk, view = mapped(qtbot)
    desk.click(view.bands[1])
    assert desk.asks == [AskMap("theta", "smr")]  # they change places
    desk.pass_time(0.5)
    desk.foresee()
    assert view.across.text.startswith("theta")
    desk.click(view.bands[1])
    assert desk.asks[1:] == [AskMap("theta", "high_beta")]


def test_a_map_of_other_settings_is_dim_but_its_own_thresholds_leave_it_true(qtbot: QtBot) -> None:
    desk, view = mapped(qtbot)
    bright = view.rate.ink
    desk.press(Key.Key_2)
    desk.press(Key.Key_Plus)
    desk.pass_time(0.1)
    assert view.rate.ink == bright == "text"
    desk.press(Key.Key_H)
    desk.press(Key.Key_Plus)
    desk.pass_time(0.1)
    assert view.rate.ink == "muted"


def test_before_there_is_a_map_it_says_when_it_comes(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    desk.press(Key.Key_F7)
    view = desk.page.chart_card.map
    assert "after 30 s of clear training" in view.missing.text
    assert not view.picture.isVisible()


def test_one_condition_has_no_map(qtbot: QtBot) -> None:
    desk = Sitting(qtbot, conditions=THREE[1:2])
    desk.train(40.0)
    desk.foresee()
    desk.press(Key.Key_F7)
    assert desk.page.chart_card.map.missing.text == "a map needs two conditions"


def test_the_keys_nudge_while_the_map_is_shown(qtbot: QtBot) -> None:
    desk, _ = mapped(qtbot)
    desk.press(Key.Key_1)
    desk.press(Key.Key_Minus)
    assert desk.asks == [AskNudge("theta.threshold", "key", steps=-1)]
