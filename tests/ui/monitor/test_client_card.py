"""The desk's small copy shows what the client's window shows."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from pytestqt.qtbot import QtBot

from engine.protocol import SCENES
from engine.session.stretches import StretchView
from tests.ui.monitor.sitting import Key, Sitting
from ui.client.pixels import to_pixels
from ui.monitor.client_card import shown


def looks(desk: Sitting) -> NDArray[np.float32]:
    """Return the copy's pixels."""
    return to_pixels(desk.page.client.copy.grab().toImage())


def test_the_scenes_are_gone_through_in_turn_and_their_names_said(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    button, said = desk.page.client.switches["scene"], []
    for _ in SCENES:
        desk.press(Key.Key_V)
        said.append(button.text())
    names = ("bowl with fish", "a still stone", "shore at dusk")
    assert said == [f"scene: {name}" for name in names]


def test_the_copy_shows_the_scene_that_was_chosen(qtbot: QtBot) -> None:
    desk = Sitting(qtbot)
    pictures = [looks(desk)]
    for _ in range(2):
        desk.press(Key.Key_V)
        desk.pass_time(1.0)
        pictures.append(looks(desk))
    for one, other in ((0, 1), (1, 2), (2, 0)):
        assert np.abs(pictures[one] - pictures[other]).mean() > 10


@pytest.mark.parametrize(
    ("what", "phase", "prompt"),
    [("clench", "check", "clench"), ("baseline before", "baseline", "baseline")],
)
def test_the_copy_shows_what_a_stretch_asks_of_the_client(
    qtbot: QtBot, what: str, phase: str, prompt: str
) -> None:
    desk = Sitting(qtbot)
    memory = desk.page.memory
    assert memory.status is not None and shown(memory).prompt == ""
    memory.status = replace(memory.status, stretch=StretchView(what, 1.0, 1.0, 5.0, False))
    assert (shown(memory).phase, shown(memory).prompt) == (phase, prompt)
    assert shown(memory).progress == 0.0
