from collections.abc import Callable
from dataclasses import replace

import pytest
from pytestqt.qtbot import QtBot

from engine.events import Reason
from engine.protocol import Condition
from engine.reward.baseline import Start, starting_thresholds
from engine.reward.forecast import Forecast, Forecaster
from engine.session.last_time import LastTime
from engine.session.stretches import StretchResult, StretchView
from tests.engine.reward.windows import ABOVE, GRID, wandering
from tests.ui.monitor.fake_host import THREE, protocol_of
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
from ui.monitor.pages.baseline_page import BaselinePage
from ui.monitor.pages.baseline_table import AFTER, BEFORE, CHANGE, FOUND, LAST, RESCALED
from ui.theme import LIGHT

BASE = (8.31, 3.62, 4.93)


def result(
    what: str = "baseline before", factor: float = 1.0, clear_s: float = 180.0, n: int = 3
) -> StretchResult:
    means = tuple(factor * BASE[i % 3] for i in range(n))
    return StretchResult(what, 12.0, 240.0, clear_s, means, tuple(m / 4 for m in means))


LAST_TIME = LastTime(
    "20261120-101500-smr-up-c4",
    (
        ("theta.threshold", 9.4),
        ("smr.threshold", 3.9),
        ("high_beta.threshold", 6.1),
        ("hold", 0.6),
        ("left_alpha.threshold", 9.9),
    ),
    (("theta", 8.31), ("smr", 1.81), ("high_beta", 4.93)),
    rate=11.2,
    clear_share=0.81,
)


class Baselines:
    """A page, and everything that it asked for."""

    def __init__(
        self,
        qtbot: QtBot,
        size: tuple[int, int] = SIZES[0],
        conditions: tuple[Condition, ...] = THREE,
    ):
        self.said: list[tuple[object, ...]] = []
        self.protocol = protocol_of(conditions)
        self.page = BaselinePage(
            self.protocol,
            lambda what, seconds: self.said.append(("start", what, seconds)),
            lambda: self.said.append(("stop",)),
            lambda pairs: self.said.append(("accept", *pairs)),
            lambda target, shares: self.said.append(("ask", target, shares)),
        )
        self.size = size
        show(qtbot, self.page, size)

    def found(self) -> Start:
        n = len(self.protocol.conditions)
        return Start(self.protocol.settings, Forecast(12.3, 8.1, 16.8), (0.8,) * n, 14.2)

    def cell(self, name: str, column: int) -> str:
        return self.page.table.cells[name, column].text


def test_three_clear_minutes_are_begun_by_key(qtbot: QtBot) -> None:
    sitting = Baselines(qtbot)
    assert "about 3 clear minutes" in sitting.page.next.text
    sitting.page.before.setFocus()
    hands.keyClick(sitting.page.before, Key.Key_Return)
    sitting.page.minutes.pick("2")
    assert "about 2 clear minutes" in sitting.page.next.text
    sitting.page.after.click()
    assert sitting.said == [
        ("start", "baseline before", 180.0),
        ("start", "baseline after", 120.0),
    ]


def test_progress_is_told_in_clear_time_by_bar_and_words(qtbot: QtBot) -> None:
    sitting = Baselines(qtbot)
    view = StretchView("baseline before", 120.0, 90.0, 180.0, True, (Reason.BLINK,))
    sitting.page.show_status(view)
    bar = sitting.page.bar
    assert bar.big.text == "1:30 of 3:00 clear"
    assert bar.bar.share == 0.5
    assert "75 %" in bar.small.text
    assert bar.now.text == "not counted: blink"
    assert not sitting.page.before.isEnabled()
    sitting.page.stop.click()
    assert sitting.said == [("stop",)]
    sitting.page.show_status(None)
    assert sitting.page.before.isEnabled() and not sitting.page.stop.isEnabled()


def test_before_and_after_stand_side_by_side(qtbot: QtBot) -> None:
    sitting = Baselines(qtbot)
    sitting.page.show_result(result())
    assert sitting.cell("smr", BEFORE) == "3.62 ± 0.91"
    assert sitting.cell("clear", BEFORE) == "75 % of 4:00"
    assert sitting.cell("smr", CHANGE) == "–"
    sitting.page.show_result(result("baseline after", 0.9))
    assert sitting.cell("smr", AFTER) == "3.26 ± 0.81"
    assert sitting.cell("smr", CHANGE) == "−0.36 (−10 %)"
    assert "look back" in sitting.page.next.text


def test_thresholds_are_asked_for_once_the_baseline_is_there(qtbot: QtBot) -> None:
    sitting = Baselines(qtbot)
    sitting.page.show_result(result())
    assert sitting.said == [("ask", 12.5, {"theta": 0.8, "smr": 0.6, "high_beta": 0.8})]
    sitting.page.show_result(result())
    sitting.page.show_result(replace(result(), what="clench"))
    assert len(sitting.said) == 1


def test_another_target_and_other_shares_are_asked_for_when_they_are_written(qtbot: QtBot) -> None:
    sitting = Baselines(qtbot)
    sitting.page.show_result(result())
    sitting.said.clear()
    write(sitting.page, sitting.page.table.shares["theta"], "70")
    hands.keyClick(sitting.page.table.shares["theta"], Key.Key_Return)
    write(sitting.page, sitting.page.target.line, "")
    hands.keyClick(sitting.page.target.line, Key.Key_Delete)
    hands.keyClick(sitting.page.target.line, Key.Key_Tab)
    shares = {"theta": 0.7, "smr": 0.6, "high_beta": 0.8}
    assert sitting.said == [("ask", 12.5, shares), ("ask", None, shares)]


@pytest.mark.parametrize("text", ["120", "many", "1"])
def test_a_share_that_is_none_is_said_and_nothing_is_asked(qtbot: QtBot, text: str) -> None:
    sitting = Baselines(qtbot)
    sitting.page.show_result(result())
    sitting.said.clear()
    write(sitting.page, sitting.page.table.shares["smr"], text)
    hands.keyClick(sitting.page.table.shares["smr"], Key.Key_Tab)
    assert f"“{text}” is no share of 2 to 98 %" in sitting.page.trouble.text()
    assert sitting.said == []


def test_found_thresholds_are_shown_with_their_rate_and_used(qtbot: QtBot) -> None:
    sitting = Baselines(qtbot)
    sitting.page.show_result(result())
    assert not sitting.page.table.uses[FOUND].isEnabled()
    sitting.page.show_start(sitting.found())
    assert sitting.cell("smr", FOUND) == "4.10 (met 80 %)"
    assert sitting.cell("rate", FOUND) == "12 (8–17)"
    assert "about 12 points a minute" in sitting.page.said.text()
    sitting.said.clear()
    sitting.page.table.uses[FOUND].click()
    assert sitting.said == [
        ("accept", ("theta.threshold", 9.0), ("smr.threshold", 4.1), ("high_beta.threshold", 6.0))
    ]
    assert sitting.page.table.uses[FOUND].text() == "in use"
    assert "train" in sitting.page.next.text


def test_the_page_takes_what_a_baseline_really_gives(qtbot: QtBot) -> None:
    conditions = THREE[:2]
    sitting = Baselines(qtbot, conditions=conditions)
    forecaster = Forecaster(wandering(7, 180.0), GRID, ABOVE)
    start = starting_thresholds(forecaster, sitting.protocol.settings, ABOVE, 12.0)
    sitting.page.show_result(result(n=2))
    sitting.page.show_start(start)
    assert sitting.cell("rate", FOUND).startswith("12 (")
    assert sitting.cell("theta", FOUND) == f"{start.settings.thresholds_uv[0]:.2f} (met 80 %)"


def test_last_time_is_offered_as_it_was_at_once_and_rescaled_after_the_baseline(
    qtbot: QtBot,
) -> None:
    sitting = Baselines(qtbot)
    sitting.page.show_last(LAST_TIME)
    assert sitting.cell("smr", LAST) == "3.90"
    assert sitting.cell("rate", LAST) == "gave 11.2"
    assert not sitting.page.table.uses[RESCALED].isEnabled()
    sitting.page.show_result(result())
    assert sitting.cell("theta", RESCALED) == "9.40"
    assert sitting.cell("smr", RESCALED) == "7.80"
    sitting.said.clear()
    sitting.page.table.uses[LAST].click()
    sitting.page.table.uses[RESCALED].click()
    rest = (("high_beta.threshold", 6.1), ("hold", 0.6))
    assert sitting.said == [
        ("accept", ("theta.threshold", 9.4), ("smr.threshold", 3.9), *rest),
        ("accept", ("theta.threshold", 9.4), ("smr.threshold", 7.8), *rest),
    ]


def test_last_time_without_a_baseline_says_that_it_cannot_be_rescaled(qtbot: QtBot) -> None:
    sitting = Baselines(qtbot)
    sitting.page.show_last(replace(LAST_TIME, baseline_uv=(), scale="rms"))
    sitting.page.show_result(result())
    assert "cannot be rescaled" in sitting.page.said.text()
    assert "they are converted" in sitting.page.said.text()
    assert sitting.cell("smr", LAST) == "5.52"
    assert not sitting.page.table.uses[RESCALED].isEnabled()


def test_too_little_clear_signal_is_said_and_no_threshold_is_asked_for(qtbot: QtBot) -> None:
    sitting = Baselines(qtbot)
    sitting.page.show_result(replace(result(clear_s=12.0), why="operator"))
    assert "Only 12 s were clear, 30 s are needed" in sitting.page.next.text
    assert "broken off after 4:00" in sitting.page.said.text()
    assert sitting.said == []


def test_a_new_baseline_takes_back_what_the_old_one_gave(qtbot: QtBot) -> None:
    sitting = Baselines(qtbot)
    sitting.page.show_result(result())
    sitting.page.show_start(sitting.found())
    sitting.page.table.uses[FOUND].click()
    sitting.said.clear()
    sitting.page.show_result(replace(result(factor=1.2), onset_s=700.0))
    assert sitting.cell("smr", FOUND) == "–"
    assert [said[0] for said in sitting.said] == ["ask"]
    assert sitting.page.table.uses[FOUND].text() == "Use these thresholds"


def test_everything_is_reached_by_tab(qtbot: QtBot) -> None:
    sitting = Baselines(qtbot)
    full(sitting)
    assert reachable(sitting.page) == []


def running(sitting: Baselines) -> None:
    reasons = (Reason.AMPLITUDE, Reason.MUSCLE)
    sitting.page.show_status(StretchView("baseline after", 1799.0, 1.0, 1800.0, True, reasons))
    settle(sitting.page, sitting.size)


def full(sitting: Baselines) -> None:
    n = len(sitting.protocol.conditions)
    sitting.page.show_last(replace(LAST_TIME, scale="peak-to-peak"))
    sitting.page.show_result(replace(result(factor=11.0, n=n), why="operator"))
    sitting.page.show_result(result("baseline after", 14.4, n=n))
    sitting.page.show_start(sitting.found())
    settle(sitting.page, sitting.size)


@at_every_size
@pytest.mark.parametrize("state", [lambda _: None, running, full])
def test_nothing_is_cut_off(
    qtbot: QtBot, size: tuple[int, int], state: Callable[[Baselines], None]
) -> None:
    sitting = Baselines(qtbot, size)
    state(sitting)
    assert (sitting.page.width(), sitting.page.height()) == size
    assert offences(sitting.page) == []


@pytest.mark.parametrize("n", [1, 6, 12])
def test_one_to_twelve_conditions_find_room(qtbot: QtBot, n: int) -> None:
    conditions = tuple(replace(THREE[i % 3], band=f"band{i}") for i in range(n))
    sitting = Baselines(qtbot, conditions=conditions)
    full(sitting)
    assert sitting.page.height() == sitting.size[1]
    assert offences(sitting.page) == []


def test_it_is_seen_in_the_light_theme_too(qtbot: QtBot) -> None:
    sitting = Baselines(qtbot)
    full(sitting)
    show(qtbot, sitting.page, SIZES[1], LIGHT)
    assert offences(sitting.page) == []
