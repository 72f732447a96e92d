"""Screens of unlike size: Qt's own offscreen platform can pretend to have them."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from PyQt6.QtCore import QRect
from PyQt6.QtGui import QGuiApplication
from PyQt6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from tests.ui.monitor.sitting import Sitting
from ui.client.screens import over_the_copy, place_first

TRIAL = """
import json, sys
from PyQt6.QtCore import QEventLoop, QTimer
from PyQt6.QtWidgets import QApplication, QWidget
from ui.client.screens import place, place_first

application = QApplication([])
window = QWidget()
window.resize(320, 180)
window.show()
names = [screen.name() for screen in application.screens()]
seen = []
indices = {**dict(zip(names, range(9))), "": -1, "gone": 7}
for name, full_screen in json.loads(sys.argv[1]):
    if name == "first":
        place_first(window)
    else:
        place(window, indices[name], full_screen)
    wait = QEventLoop()
    QTimer.singleShot(30, wait.quit)
    wait.exec()
    box = window.geometry()
    seen.append([
        window.screen().name(), window.isFullScreen(),
        [box.x(), box.y(), box.width(), box.height()],
    ])
print(json.dumps([names, *seen]))
"""

DESK = {"name": "desk", "x": 0, "y": 0, "width": 1366, "height": 768}
CLIENT = {"name": "client", "x": 1366, "y": 0, "width": 1280, "height": 720}


def _placed(folder: Path, *places: tuple[str, bool]) -> list[list[Any]]:
    common = {"logicalDpi": 96, "logicalBaseDpi": 96, "dpr": 1}
    screens = [{**screen, **common} for screen in (DESK, CLIENT)]
    config = folder / "screens.json"
    config.write_text(json.dumps({"screens": screens}), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", TRIAL, json.dumps(places)],
        env={**os.environ, "QT_QPA_PLATFORM": f"offscreen:configfile={config}"},
        capture_output=True,
        text=True,
        timeout=30,
        check=True,
    )
    seen: list[list[Any]] = json.loads(done.stdout)
    return seen


def test_it_fills_the_screen_that_was_chosen(tmp_path: Path) -> None:
    _, there = _placed(tmp_path, ("client", True))
    assert there == ["client", True, [1366, 0, 1280, 720]]


def test_it_goes_from_screen_to_screen_and_back_into_a_window(tmp_path: Path) -> None:
    _, *seen = _placed(tmp_path, ("client", True), ("desk", True), ("client", False))
    assert [place[:2] for place in seen] == [["client", True], ["desk", True], ["client", False]]
    assert seen[1][2] == [0, 0, 1366, 768]
    left, top, width, height = seen[2][2]
    assert left > 1366 and top > 0 and width < 1280 and height < 720


@pytest.mark.parametrize("full_screen", [True, False])
def test_a_screen_that_is_gone_means_a_plain_window_on_the_first(
    tmp_path: Path, full_screen: bool
) -> None:
    names, there = _placed(tmp_path, ("gone", full_screen))
    assert there[:2] == [names[0], False]


def test_without_a_choice_it_fills_the_screen_it_is_on(tmp_path: Path) -> None:
    _, *seen = _placed(tmp_path, ("client", False), ("", True))
    assert seen[1][:2] == ["client", True]


def test_it_appears_beside_the_desk_where_there_is_another_screen(tmp_path: Path) -> None:
    names, there = _placed(tmp_path, ("first", False))
    assert there[:2] == [names[1], False]


@pytest.mark.parametrize("size", [(1366, 768), (1920, 1080), (1280, 1024), (1366, 690)])
def test_on_the_only_screen_it_hides_nothing_of_the_desk_but_its_copy(
    qtbot: QtBot, size: tuple[int, int]
) -> None:
    desk = Sitting(qtbot, size)
    desk.window.receive(desk.host.renew(title="WREN-02", signals=("C4", "Fp1", "Fp2")))
    desk.draw()
    qtbot.wait(1)
    copy = desk.page.client.copy
    there = QRect(copy.mapTo(desk.window, copy.rect().topLeft()), copy.size())
    box = over_the_copy(QRect(0, 0, *size))
    assert there.adjusted(-3, -3, 3, 3).contains(box)
    assert box.width() == pytest.approx(box.height() * 16 / 9, abs=3)
    assert box.width() > 0.13 * size[0]


def test_on_the_only_screen_it_appears_there(qtbot: QtBot) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    place_first(window)
    screen = QGuiApplication.screens()[0].availableGeometry()
    assert window.geometry() == over_the_copy(screen)
