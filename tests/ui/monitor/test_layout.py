"""Nothing is cut off, nothing covers anything, at any size, in either theme, in any state."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from PyQt6.QtCore import QRect
from PyQt6.QtWidgets import QLabel, QWidget
from pytestqt.qtbot import QtBot

from engine.events import Reason
from engine.protocol import Condition
from engine.session.messages import Batch, Remark
from engine.stream.messages import Question
from tests.ui.monitor.fake_host import THREE
from tests.ui.monitor.sitting import Key, Sitting
from ui.monitor.buttons import Press
from ui.monitor.desk import DeskWindow
from ui.monitor.forecast_cell import ForecastCell
from ui.monitor.parts import Cap, Words

SIZES = [
    (1366, 768),
    (1920, 1080),
    (1366, 690),  # the smaller screen without a task bar and a title
    (1280, 720),  # 1920 x 1080 at a scale of 1.5
    (911, 512),  # 1366 x 768 at a scale of 1.5
]
UNUSUAL = [(1280, 1024), (2560, 1080), (820, 460), (900, 1280)]


def conditions(n: int) -> tuple[Condition, ...]:
    return tuple(replace(THREE[i % 3], band=f"band{i}", label=THREE[i % 3].label) for i in range(n))


def rest(desk: Sitting) -> None:
    desk.host.phase, desk.host.phase_ticks = "rest", 0


def lost(desk: Sitting) -> None:
    desk.host.stream_ok = False


def unsaved(desk: Sitting) -> None:
    desk.host.recording_ok = False


def ended(desk: Sitting) -> None:
    desk.host.phase = "ended"


def hidden(desk: Sitting) -> None:
    desk.host.hide(9.0, Reason.AMPLITUDE, Reason.MUSCLE)


def deaf(desk: Sitting) -> None:
    desk.host.muscle_seen = False


def no_points(desk: Sitting) -> None:
    desk.host.holds_off = ("the stream's rate is not the accepted one",)
    desk.host.client_shown = False


def high_numbers(desk: Sitting) -> None:
    for key in ("theta.threshold", "smr.threshold", "high_beta.threshold"):
        desk.host.settings = desk.host.settings.changed(key, 999.9)
    desk.host.settings = desk.host.settings.changed("hold", 10.0).changed("quiet", 30.0)
    desk.host.points = [-1000.0] * 999


def wild_traces(desk: Sitting) -> None:
    names = ("C4-A1", "EEG Fp1", "EEG Fp2", "EEG F7", "EEG F8")
    desk.window.receive(desk.host.renew(title="WREN-02", signals=names))
    trace = 900.0 * np.random.default_rng(1).standard_normal((2500, len(names)))
    desk.window.receive(Batch((), trace, desk.host.now_s))


def help_page(desk: Sitting) -> None:
    desk.window.do("help")


def response_page(desk: Sitting) -> None:
    desk.window.do("response")


def quit_page(desk: Sitting) -> None:
    desk.window.do("quit")


def question(desk: Sitting) -> None:
    text = "The stream does not say its unit; its size suggests microvolts. Which unit is it?"
    desk.window.receive(Question("unit", text, ("volts", "millivolts", "microvolts"), "microvolts"))


def written_answer(desk: Sitting) -> None:
    desk.window.receive(Question("channel", "Which sites are these channels?", ()))
    desk.press(Key.Key_F1)
    desk.window.do("help")


def many_channels(desk: Sitting) -> None:
    labels = tuple(f"EEG channel {n}" for n in range(64))
    desk.window.receive(Question("channel", "Which channel is C4?", labels))


def foreseen(desk: Sitting) -> None:
    desk.pass_time(40.0)
    desk.foresee()


def foreseen_and_again(desk: Sitting) -> None:
    foreseen(desk)
    desk.press(Key.Key_L)


def foreseen_map(desk: Sitting) -> None:
    foreseen(desk)
    desk.press(Key.Key_F7)
    desk.page.chart_card.map.choose((4.6, 8.1))


def map_without_a_forecast(desk: Sitting) -> None:
    desk.press(Key.Key_F7)


def nothing(desk: Sitting) -> None:
    pass


STATES: list[Callable[[Sitting], None]] = [
    nothing, rest, lost, unsaved, ended, hidden, deaf, no_points, high_numbers, wild_traces,
    foreseen, foreseen_and_again, foreseen_map, map_without_a_forecast,
    help_page, response_page, quit_page, question, written_answer, many_channels,
]  # fmt: skip


def text_of(leaf: QWidget) -> str:
    if isinstance(leaf, Words):
        return leaf.text
    if isinstance(leaf, ForecastCell):
        return f"{leaf.rate} {leaf.span}"
    return leaf.text() if isinstance(leaf, Press | QLabel) else "a key cap"


def offences(window: DeskWindow) -> list[str]:
    """Return what is cut off, outside the window, or covered by a neighbour."""
    found: list[str] = []
    placed: list[tuple[QRect, str]] = []
    for leaf in (window.sheet or window).findChildren(QWidget):
        if (
            not isinstance(leaf, Words | Press | Cap | QLabel | ForecastCell)
            or leaf.visibleRegion().isEmpty()
        ):
            continue
        text = text_of(leaf)
        box = QRect(leaf.mapTo(window, leaf.rect().topLeft()), leaf.size())
        if isinstance(leaf, Words | Press | ForecastCell) and not leaf.fits():
            found.append(f"cut off: {text!r}")
        if isinstance(leaf, QLabel) and leaf.heightForWidth(leaf.width()) > leaf.height():
            found.append(f"cut off: {text!r}")
        if not window.rect().contains(box):
            found.append(f"outside: {text!r} {box}")
        found += [f"{text!r} covers {other!r}" for rect, other in placed if rect.intersects(box)]
        placed.append((box, text))
    assert len(placed) >= 3
    return found


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize("state", STATES, ids=lambda s: s.__name__)
def test_everything_is_seen_in_every_state_at_every_size(
    qtbot: QtBot, size: tuple[int, int], state: Callable[[Sitting], None]
) -> None:
    desk = Sitting(qtbot, size)
    desk.train(3.0)
    state(desk)
    desk.pass_time(0.1)
    qtbot.wait(1)
    assert (desk.window.width(), desk.window.height()) == size
    assert offences(desk.window) == []


@pytest.mark.parametrize("size", UNUSUAL, ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize("state", [nothing, help_page], ids=lambda s: s.__name__)
def test_everything_is_seen_in_windows_of_unusual_shape(
    qtbot: QtBot, size: tuple[int, int], state: Callable[[Sitting], None]
) -> None:
    test_everything_is_seen_in_every_state_at_every_size(qtbot, size, state)


@pytest.mark.parametrize("size", SIZES[:3], ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize("n", [1, 2, 4, 5, 6, 9, 12])
def test_one_to_twelve_conditions_find_room(qtbot: QtBot, size: tuple[int, int], n: int) -> None:
    desk = Sitting(qtbot, size, conditions(n))
    desk.train(35.0)
    desk.foresee()
    qtbot.wait(1)
    assert offences(desk.window) == []
    assert len(desk.page.lanes.lanes) == n
    for lane in desk.page.lanes.lanes:
        assert lane.picture.height() >= 0.02 * size[1]


def test_a_row_out_of_sight_comes_into_sight_when_it_is_chosen(qtbot: QtBot) -> None:
    desk = Sitting(qtbot, conditions=conditions(12))
    last = desk.page.table.rows[11]
    assert last.visibleRegion().isEmpty()
    for _ in range(11):
        desk.window.do("down")
    qtbot.wait(1)
    assert not last.visibleRegion().isEmpty()


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
def test_the_start_page_is_seen_whole(qtbot: QtBot, size: tuple[int, int]) -> None:
    desk = Sitting(qtbot, size, greet=False)
    desk.window.receive(Remark("The stream amplifier was found; its rate is being measured."))
    qtbot.wait(1)
    assert offences(desk.window) == []


def test_the_rate_is_the_largest_thing_on_the_desk(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    page = desk.page
    parts = (page.headline, page.client, page.table, page.trace, page.footer, page.lanes)
    shown = (page.chart_card.width() + page.rate.width()) * page.rate.height()
    assert all(part.width() * part.height() < shown for part in parts)
    figures = [w for w in page.findChildren(Words) if w is not page.rate.rate]
    largest = max(figure.text_font().pixelSize() for figure in figures)
    assert page.rate.rate.text_font().pixelSize() > 2 * largest
