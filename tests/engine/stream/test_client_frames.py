"""Client frames on another computer: the newest one, and one clear sentence where there is none."""

from __future__ import annotations

import time
from collections.abc import Iterator

import pytest

from engine.session.messages import ClientFrame
from engine.stream.client_frames import ClientFrameInlet, SharedFrame, frame_of, unlike_ours
from engine.stream.outlets import FRAME_TYPE, LslPublisher
from engine.stream.phases import PHASES, PROMPTS
from tests.engine.stream.descriptions import stream
from tests.lsl import Outlet, lsl

__all__ = ["lsl"]

SOON_S = 5.0
TRAINING = ClientFrame(0.5, 0.75, True, 3, "training")


@pytest.fixture
def publisher(lsl: str) -> Iterator[LslPublisher]:
    opened = LslPublisher()
    yield opened
    opened.close()


def wait_for(frames: ClientFrameInlet, publisher: LslPublisher | None, frame: ClientFrame) -> bool:
    """Publish a frame until it is the newest that the other side has."""
    deadline = time.monotonic() + SOON_S
    while time.monotonic() < deadline:
        if publisher is not None:
            publisher.frame(frame)
        got = frames.latest()
        if got is not None and ClientFrame(*got) == frame:
            return True
        time.sleep(0.04)
    return False


def test_a_client_display_on_another_computer_sees_each_frame(publisher: LslPublisher) -> None:
    frames = ClientFrameInlet()
    assert frames.latest() is None
    frames.start()
    assert wait_for(frames, publisher, TRAINING)
    assert wait_for(frames, publisher, ClientFrame(0.0, 0.25, False, 4, "rest"))
    assert wait_for(frames, publisher, ClientFrame(0.0, 0.0, False, 4, "check", "clench"))
    assert frames.trouble == ""
    frames.stop()


def test_frames_grow_old_and_a_session_that_starts_again_is_found(lsl: str) -> None:
    first = LslPublisher()
    frames = ClientFrameInlet()
    frames.start()
    assert wait_for(frames, first, TRAINING)
    first.close()
    deadline = time.monotonic() + SOON_S
    while frames.latest() is not None and time.monotonic() < deadline:
        time.sleep(0.05)
    assert frames.latest() is None
    assert frames.trouble
    second = LslPublisher()
    assert wait_for(frames, second, ClientFrame(0.0, 0.0, True, 0, "ready"))
    frames.stop()
    second.close()


def test_two_sessions_are_not_mixed_up(publisher: LslPublisher) -> None:
    other = LslPublisher()
    frames = ClientFrameInlet()
    frames.start()
    deadline = time.monotonic() + SOON_S
    while "--source-id" not in frames.trouble and time.monotonic() < deadline:
        publisher.frame(TRAINING)
        other.frame(TRAINING)
        time.sleep(0.05)
    assert "--source-id" in frames.trouble
    assert frames.latest() is None
    frames.stop()
    other.close()


def test_a_stream_of_another_make_is_refused(lsl: str) -> None:
    outlet = Outlet(name="Odd frames", kind=FRAME_TYPE, source_id="odd", units=None)
    frames = ClientFrameInlet()
    frames.start()
    deadline = time.monotonic() + SOON_S
    while "use the same version" not in frames.trouble and time.monotonic() < deadline:
        time.sleep(0.05)
    assert "'Odd frames' holds C3 C4 as float32" in frames.trouble
    frames.stop()
    outlet.close()


def test_whatever_the_numbers_are_a_frame_stays_within_its_ranges() -> None:
    nan, inf = float("nan"), float("inf")
    assert frame_of([0.5, 0.25, 1.0, 7.0, 2.0, 0.0]) == SharedFrame(0.5, 0.25, True, 7, "rest", "")
    assert frame_of([nan, inf, nan, nan, nan, nan]) == SharedFrame(0.0, 0.0, False, 0, "ready", "")
    last = SharedFrame(1.0, 0.0, False, 0, PHASES[-1], PROMPTS[-1])
    assert frame_of([7, -1, 0.2, -3, 99, 99]) == last


def test_a_stream_without_labels_is_no_frame() -> None:
    assert "channels without labels" in unlike_ours(stream(labels=(), units=()))
