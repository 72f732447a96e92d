"""What leaves the machine when publishing is on, and how another computer reads it."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pylsl
import pytest

from engine.events import (
    Event,
    HoldOff,
    LimitChanged,
    LimitSet,
    Note,
    Nudge,
    PointEarned,
    Reason,
    RoundStart,
    RoundStop,
    SegmentStart,
    SettingChanged,
    State,
    StateChanged,
    from_record,
)
from engine.session.messages import ClientFrame
from engine.stream.inlet import Inlet
from engine.stream.outlets import EVENT_NAME, FRAME_NAME, FRAME_TYPE, LslPublisher, published
from tests.lsl import lsl

__all__ = ["lsl"]

SOON_S = 5.0
TRAINING = ClientFrame(0.5, 0.75, True, 3, "training")
POINT = PointEarned(10, 60, 0.24, 1)
STATE = StateChanged(11, 66, 0.264, State.OBSCURED, (Reason.GAP, Reason.GUARD))
SETTING = SettingChanged(12, 72, 0.288, "smr.threshold", 4.0, 4.2, "Dr Finch", "key")
LIMIT = LimitChanged(13, 78, 0.312, "clearness.muscle", 6.0, 4.0, "Dr Finch", "check")


@pytest.fixture
def publisher(lsl: str) -> Iterator[LslPublisher]:
    opened = LslPublisher()
    yield opened
    opened.close()


def inlet_to(name: str) -> Inlet:
    (info,) = pylsl.resolve_byprop("name", name, timeout=SOON_S)
    return Inlet(info)


def test_a_point_and_a_state_come_back_from_their_markers() -> None:
    for event in (POINT, STATE):
        assert from_record(json.loads(published(event))) == event


def test_who_nudged_and_why_a_round_ended_stay_in_the_house() -> None:
    assert "Finch" not in published(SETTING)
    assert json.loads(published(SETTING))["new"] == 4.2
    assert "Finch" not in published(LIMIT)
    assert json.loads(published(LIMIT))["new"] == 4.0
    assert "dizzy" not in published(RoundStop(5, "client dizzy"))


def test_events_reach_a_recorder_and_what_is_private_does_not(publisher: LslPublisher) -> None:
    inlet = inlet_to(EVENT_NAME)
    hidden: list[Event] = [
        Note(5, 0.02, "slept badly"),
        Nudge(5, "hold", 0.5),
        LimitSet(5, "clearness.muscle", 4.0),
        HoldOff(5, "the desk is gone"),
        SegmentStart(0, 0.0),
    ]
    shown: list[Event] = [RoundStart(6), POINT, STATE, SETTING, LIMIT, RoundStop(80)]
    for event in [*hidden, *shown]:
        publisher.event(event)
    kinds: list[str] = []
    deadline = time.monotonic() + SOON_S
    while len(kinds) < len(shown) and time.monotonic() < deadline:
        for pulled in inlet.pull(0.2):
            kinds += [json.loads(text)["kind"] for (text,) in pulled.raw.tolist()]
    assert kinds == [type(event).__name__ for event in shown]
    inlet.close()


def test_the_streams_describe_themselves_and_say_nothing_personal(publisher: LslPublisher) -> None:
    frames, events = inlet_to(FRAME_NAME), inlet_to(EVENT_NAME)
    labels = ("progress", "closeness", "clear", "points", "phase", "prompt")
    assert frames.stream.labels == labels
    assert frames.stream.kind == FRAME_TYPE
    assert frames.stream.channel_format == "float32"
    assert events.stream.kind == "Markers"
    assert events.stream.labels == ("event",)
    assert {s.stream.manufacturer for s in (frames, events)} == {"Nudgeline"}
    ids = {frames.stream.source_id, events.stream.source_id}
    assert all(name.startswith("nudgeline-") and len(name) > 40 for name in ids)
    frames.close()
    events.close()


def test_nothing_can_be_published_before_the_reach_of_lsl_is_in_force() -> None:
    code = (
        "from engine.errors import SourceError\n"
        "from engine.stream.outlets import LslPublisher\n"
        "try:\n    LslPublisher()\nexcept SourceError as error:\n    print(error)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        timeout=60,
        cwd=Path(__file__).parents[3],
        check=True,
    )
    assert "must be in force" in done.stdout


def test_a_closed_publisher_is_silent(lsl: str) -> None:
    publisher = LslPublisher()
    publisher.close()
    publisher.event(POINT)
    publisher.frame(TRAINING)
    assert not pylsl.resolve_byprop("name", FRAME_NAME, timeout=0.3)
