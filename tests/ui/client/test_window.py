"""The real window, without a screen: what it hears, shows, sounds, and what it refuses."""

import threading
from itertools import pairwise
from multiprocessing import Pipe
from typing import Any

import numpy as np
import pytest
from PyQt6.QtCore import QEvent, QPointF, Qt
from PyQt6.QtGui import QKeyEvent, QMouseEvent
from PyQt6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

import ui.client.window as window_module
from engine.session.messages import ClientControl, Goodbye
from tests.ui.client.drawing import frame
from ui.client.pixels import Pixels, to_pixels
from ui.client.scenes import SCENES, scene_called
from ui.client.sound import Player, SoundError
from ui.client.window import ClientWindow, Listener
from ui.client.words import NO_SOUND


class SilentPlayer(Player):
    """Opens no device; set ``why`` for a machine without sound."""

    why = ""

    def ensure(self) -> None:
        if self.why:
            raise SoundError(self.why)


@pytest.fixture
def sign() -> threading.Event:
    return threading.Event()


@pytest.fixture
def window(qtbot: QtBot, sign: threading.Event, monkeypatch: pytest.MonkeyPatch) -> ClientWindow:
    monkeypatch.setattr(window_module, "Player", SilentPlayer)
    monkeypatch.setattr(SilentPlayer, "why", "")
    window = ClientWindow(sign)
    qtbot.addWidget(window, before_close_func=lambda shown: shown.hear(Goodbye()))
    window.resize(320, 180)
    return window


def test_it_says_that_it_is_drawn_only_after_it_was(
    window: ClientWindow, sign: threading.Event, qtbot: QtBot
) -> None:
    assert not sign.is_set() and window.frames_drawn == 0
    window.begin()
    qtbot.waitUntil(sign.is_set, timeout=30_000)
    assert window.frames_drawn > 0


def test_it_goes_on_saying_so(window: ClientWindow, sign: threading.Event, qtbot: QtBot) -> None:
    window.begin()
    for _ in range(2):
        qtbot.waitUntil(sign.is_set, timeout=30_000)
        sign.clear()


def test_frames_move_the_scene(window: ClientWindow) -> None:
    window.hear(frame(progress=1.0, points=3))
    for _ in range(50):
        window.advance(0.02)
    assert window.view.level > 0.9 and window.view.points == 3


def test_before_the_first_frame_it_is_quietly_there(window: ClientWindow) -> None:
    window.advance(1.0)
    assert window.view.words == "" and window.view.points == 0


def test_the_operator_may_keep_the_scene_still(window: ClientWindow) -> None:
    window.hear(ClientControl(closeness=False))
    window.hear(frame(closeness=0.0))
    before = window.view.warmth
    for _ in range(50):
        window.advance(0.05)
    assert window.view.warmth == before


@pytest.mark.parametrize("key", ["Key_Space", "Key_Return", "Key_Q", "Key_F4", "Key_Right"])
def test_no_key_changes_anything(window: ClientWindow, key: str) -> None:
    window.begin()
    _press(window, getattr(Qt.Key, key))
    _press(window, getattr(Qt.Key, key), Qt.KeyboardModifier.AltModifier)
    assert window.isVisible() and not window.isFullScreen()


@pytest.mark.parametrize("key", [Qt.Key.Key_Escape, Qt.Key.Key_F11])
def test_two_keys_leave_full_screen_and_do_not_enter_it(window: ClientWindow, key: Qt.Key) -> None:
    window.begin()
    window.hear(ClientControl(full_screen=True))
    assert window.isFullScreen()
    _press(window, key)
    assert not window.isFullScreen()
    _press(window, key)
    assert not window.isFullScreen()


def test_a_change_of_volume_does_not_bring_full_screen_back(window: ClientWindow) -> None:
    window.begin()
    window.hear(ClientControl(full_screen=True))
    _press(window, Qt.Key.Key_Escape)
    window.hear(ClientControl(full_screen=True, volume=0.9))
    assert not window.isFullScreen()


def test_a_screen_that_is_not_there_is_never_filled(window: ClientWindow) -> None:
    window.begin()
    window.hear(ClientControl(screen=5, full_screen=True))
    assert window.isVisible() and not window.isFullScreen()


def test_the_client_cannot_close_it_but_the_desk_can(window: ClientWindow) -> None:
    window.begin()
    assert not window.close() and window.isVisible()
    window.hear(Goodbye())
    assert not window.isVisible()


def test_it_appears_without_taking_the_keys_from_the_desk(window: ClientWindow) -> None:
    window.begin()
    assert window.testAttribute(Qt.WidgetAttribute.WA_ShowWithoutActivating)


def test_the_cursor_hides_after_a_while_and_returns_with_the_mouse(
    window: ClientWindow, qtbot: QtBot
) -> None:
    window.begin()
    assert window._cursor.interval() == 2000
    window._cursor.setInterval(1)
    window._cursor.start()
    blank = Qt.CursorShape.BlankCursor
    qtbot.waitUntil(lambda: window.cursor().shape() == blank, timeout=2000)
    window._cursor.setInterval(100_000)
    _move_mouse(window)
    qtbot.waitUntil(lambda: window.cursor().shape() != blank, timeout=2000)


def test_missing_sound_is_shown_and_no_longer_once_it_is_there(
    window: ClientWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(SilentPlayer, "why", "no sound device is there; connect one")
    window.begin()
    window.advance(0.02)
    assert window.view.sign == NO_SOUND and "connect" in window.sound_missing
    window.hear(ClientControl(muted=True))
    window.advance(0.02)
    assert window.view.sign == ""
    window.hear(ClientControl())
    monkeypatch.setattr(SilentPlayer, "why", "")
    window._each_second()
    window.advance(0.02)
    assert window.view.sign == ""


def test_a_point_is_heard_as_soon_as_its_frame_arrives(window: ClientWindow) -> None:
    window.hear(ClientControl(volume=1.0))
    window.hear(frame(points=1))
    window.hear(frame(points=2))
    assert window._player.mixer.render(4000).any()


def test_while_it_is_resized_the_last_picture_is_stretched(
    window: ClientWindow, qtbot: QtBot
) -> None:
    window.begin()
    first = window.width()
    qtbot.waitUntil(lambda: window._drawn_at_size.width() == first, timeout=30_000)
    qtbot.waitUntil(lambda: not window._settle.isActive(), timeout=30_000)
    window.resize(400, 225)
    window.grab()
    assert window._drawn_at_size.width() == first
    qtbot.waitUntil(lambda: window._drawn_at_size.width() == 400, timeout=30_000)


def test_the_listener_brings_every_message_and_ends_with_the_pipe(qtbot: QtBot) -> None:
    near, far = Pipe(duplex=False)
    heard: list[Any] = []
    listener = Listener(near.recv)
    listener.heard.connect(heard.append)
    listener.start()
    for points in range(50):
        far.send(frame(points=points))
    far.close()
    qtbot.waitUntil(lambda: bool(heard) and heard[-1] == Goodbye(), timeout=30_000)
    assert [told.points for told in heard[:-1]] == list(range(50))


def test_scenes_are_found_by_name_and_an_unknown_one_is_the_shore() -> None:
    assert scene_called("shore") is SCENES["shore"] is scene_called("a scene of tomorrow")


@pytest.mark.parametrize("scene", SCENES)
def test_a_scene_that_is_changed_in_a_round_loses_no_point(
    window: ClientWindow, scene: str
) -> None:
    window.resize(320, 180)
    window.begin()
    window.hear(frame(progress=0.4, points=20))
    window.grab()
    for points in range(21, 24):
        window.hear(frame(progress=0.4, points=points))
        window.advance(0.2)
    before = window.view
    window.hear(ClientControl(scene=scene))
    window.hear(frame(progress=0.1, points=24))
    window.advance(0.02)
    view = window.view
    assert view.points == 24 and view.lit + len(view.kindling) == 24
    assert view.level == pytest.approx(before.level, abs=0.1)
    for _ in range(40):
        window.advance(0.1)
    assert (window.view.lit, window.view.kindling) == (24, ())
    assert window._scene is SCENES[scene]


def test_a_scene_in_which_nothing_changes_is_not_drawn_again(
    window: ClientWindow, sign: threading.Event, qtbot: QtBot
) -> None:
    window.hear(ClientControl(scene="still"))
    window.hear(frame(points=3, phase="rest"))
    for _ in range(400):
        window.advance(0.1)
    window.begin()
    window._settle.setInterval(1)
    qtbot.waitUntil(lambda: window.frames_drawn > 0 and not window._settle.isActive())
    qtbot.wait(1)
    drawn = window.frames_drawn
    sign.clear()
    for _ in range(50):
        window._tick()
    QApplication.processEvents()
    assert window.frames_drawn <= drawn + 1  # the one that was asked for before
    assert sign.is_set()  # it lives all the same
    window.hear(frame(points=4, phase="rest"))
    for _ in range(3):
        window._tick()
        qtbot.waitUntil(lambda: window.frames_drawn > drawn)


def test_one_scene_fades_into_the_next_without_a_jump(window: ClientWindow) -> None:
    window.begin()
    window.hear(frame(points=20))
    for _ in range(20):
        window.advance(0.1)
    pictures = [_looks(window)]
    window.hear(ClientControl(scene="bowl"))
    for _ in range(16):
        pictures.append(_looks(window))
        window.advance(0.1)
    pictures.append(_looks(window))
    steps = [np.abs(a - b).mean() for a, b in pairwise(pictures)]
    assert np.abs(pictures[0] - pictures[-1]).mean() > 20
    assert steps[0] < 1.0 and max(steps) < 0.2 * np.abs(pictures[0] - pictures[-1]).mean()
    assert window._farewell.strength == 0.0


def test_a_change_in_the_middle_of_a_change_does_not_jump_either(window: ClientWindow) -> None:
    window.begin()
    window.hear(frame(points=20))
    window.advance(0.1)
    window.grab()
    window.hear(ClientControl(scene="bowl"))
    for _ in range(6):
        window.advance(0.1)
    before = _looks(window)
    window.hear(ClientControl(scene="still"))
    assert np.abs(_looks(window) - before).mean() < 1.0


@pytest.mark.parametrize("scene", SCENES)
def test_every_scene_says_what_a_check_asks_for(window: ClientWindow, scene: str) -> None:
    window.hear(ClientControl(scene=scene))
    window.hear(frame(phase="check", prompt="clench"))
    for _ in range(40):
        window.advance(0.1)
    assert window.view.words == "clench your jaw" and window.view.words_strength == 1.0


def _looks(window: ClientWindow) -> Pixels:
    return to_pixels(window.grab().toImage())


def _press(
    window: ClientWindow,
    key: Qt.Key,
    modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier,
) -> None:
    for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
        QApplication.sendEvent(window, QKeyEvent(kind, key, modifier))


def _move_mouse(window: ClientWindow) -> None:
    none = (Qt.MouseButton.NoButton, Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier)
    spot = QPointF(40, 40)
    QApplication.sendEvent(window, QMouseEvent(QEvent.Type.MouseMove, spot, spot, *none))
