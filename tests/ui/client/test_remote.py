"""The display on another computer, first with made-up frames, then over real LSL."""

import os
import subprocess
import sys
from collections.abc import Iterator

import pytest
from pytestqt.qtbot import QtBot

from engine.session.messages import ClientControl, ClientFrame
from engine.stream import network
from engine.stream.client_frames import ClientFrameInlet, SharedFrame
from engine.stream.outlets import LslPublisher
from tests.lsl import lsl as lsl
from ui.client.remote import Watch
from ui.client.scenes import SCENES
from ui.client.window import ClientWindow
from ui.client.words import PROMPT_WORDS, WAITING, WORDS


class MadeUpFrames:
    def __init__(self) -> None:
        self.newest: SharedFrame | None = None
        self.trouble = "No session is in reach."

    def latest(self) -> SharedFrame | None:
        return self.newest


def test_without_a_desk_it_waits_and_says_so(qtbot: QtBot) -> None:
    window = ClientWindow(closable=True)
    qtbot.addWidget(window)
    watch = Watch(MadeUpFrames())
    for _ in range(60):
        window.hear(watch.frame())
        window.advance(0.02)
    assert window.view.words == WORDS[WAITING] == "waiting for the desk"
    assert window.view.level == 0.0 and window.view.fog == 0.0


def test_frames_that_stop_leave_the_lights_and_a_desk_that_returns_goes_on() -> None:
    frames = MadeUpFrames()
    watch = Watch(frames)
    frames.newest = SharedFrame(0.7, 0.4, False, 31, "training")
    assert watch.frame() == ClientFrame(0.7, 0.4, False, 31, "training")
    frames.newest = None
    assert watch.frame() == ClientFrame(0.0, 0.4, True, 31, WAITING)
    frames.newest = SharedFrame(0.1, 0.4, True, 33, "training")
    assert watch.frame().points == 33


def test_trouble_is_told_once() -> None:
    frames = MadeUpFrames()
    watch = Watch(frames)
    assert [watch.news() for _ in range(3)] == ["No session is in reach.", "", ""]
    frames.trouble = ""
    assert watch.news() == ""
    frames.trouble = "No session is in reach."
    assert watch.news() == "No session is in reach."


@pytest.fixture
def publisher(lsl: str) -> Iterator[LslPublisher]:
    publisher = LslPublisher()
    yield publisher
    publisher.close()


@pytest.mark.parametrize("scene", SCENES)
def test_frames_published_by_a_desk_are_shown(
    publisher: LslPublisher, qtbot: QtBot, scene: str
) -> None:
    window = ClientWindow(closable=True)
    qtbot.addWidget(window)
    window.hear(ClientControl(scene=scene))
    inlet = ClientFrameInlet()
    inlet.start()
    watch = Watch(inlet)

    def points_seen() -> bool:
        publisher.frame(ClientFrame(0.5, 0.9, True, 12, "training"))
        window.hear(watch.frame())
        window.advance(0.02)
        return bool(window.view.points == 12)

    def clench_asked() -> bool:
        publisher.frame(ClientFrame(0.0, 0.0, True, 12, "check", "clench"))
        window.hear(watch.frame())
        window.advance(0.1)
        return bool(window.view.words == PROMPT_WORDS["clench"])

    try:
        qtbot.waitUntil(points_seen, timeout=8000)
        assert window.view.phase == "training"
        qtbot.waitUntil(clench_asked, timeout=8000)
    finally:
        inlet.stop()


def test_the_viewer_starts_waits_and_ends_at_ctrl_c(lsl: str) -> None:
    start = (
        "import sys; from engine.stream import network; network.configure(sys.argv[1]); "
        "from ui.client.remote import show; sys.exit(show(scene='bowl'))"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", start, network.private_text(network.new_session_id())],
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stderr is not None
    lines = iter(process.stderr)
    said = next(line for line in lines if line.startswith(("looking", "No session")))
    assert "session" in said
    if os.name != "nt":
        process.send_signal(2)
        assert process.wait(10) == 0
    process.kill()
    process.wait()
    process.stderr.close()
