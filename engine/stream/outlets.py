"""Events and client frames as LSL streams, where the site's settings say ``publish = true``.

Outlets listen on every network interface whatever the scope, so none is opened otherwise, and
nothing personal goes into them: no code of a client, no note, no name of who nudged. The
metadata describes every channel, so that a recorder can store them and be understood later.
"""

from __future__ import annotations

import json
from typing import Protocol
from uuid import uuid4

import pylsl

from engine.errors import SourceError
from engine.events import (
    Event,
    LimitChanged,
    PointEarned,
    RoundStart,
    RoundStop,
    SettingChanged,
    StateChanged,
    to_record,
)
from engine.stream.network import require_configured, session_id_of
from engine.stream.phases import PHASES, PROMPTS

FRAME_TYPE = "NudgelineFrame"
FRAME_NAME = "Nudgeline client frames"
EVENT_NAME = "Nudgeline events"
FRAME_CHANNELS = (
    ("progress", "hold reached, 0 to 1, falling slowly when a hold breaks"),
    ("closeness", "how near the conditions are, 0 to 1"),
    ("clear", "1 while the signal is fit to reward, else 0"),
    ("points", "points of the session"),
    ("phase", ", ".join(f"{code} {name}" for code, name in enumerate(PHASES))),
    ("prompt", ", ".join(f"{code} {name or 'nothing'}" for code, name in enumerate(PROMPTS))),
)
PUBLISHED = (PointEarned, StateChanged, SettingChanged, LimitChanged, RoundStart, RoundStop)
PRIVATE = ("by", "why")


class Frame(Protocol):
    """What a client display learns; `engine.session.messages.ClientFrame` is one."""

    @property
    def progress(self) -> float: ...
    @property
    def closeness(self) -> float: ...
    @property
    def clear(self) -> bool: ...
    @property
    def points(self) -> int: ...
    @property
    def phase(self) -> str: ...
    @property
    def prompt(self) -> str: ...


class LslPublisher:
    """Two outlets: markers of events, and client frames. One thread uses it.

    Raises SourceError, with nothing left open, where LSL's configuration is not in force.
    """

    def __init__(self) -> None:
        expected = session_id_of(require_configured())
        session = uuid4().hex  # of this run alone: it says nothing about anybody
        events = pylsl.StreamInfo(
            EVENT_NAME, "Markers", 1, pylsl.IRREGULAR_RATE, "string", f"nudgeline-events-{session}"
        )
        events.set_channel_labels(["event"])
        events.set_channel_types("Markers")
        _say(events, "One JSON object a marker; its kind is under the key kind.")
        frames = pylsl.StreamInfo(
            FRAME_NAME,
            FRAME_TYPE,
            len(FRAME_CHANNELS),
            pylsl.IRREGULAR_RATE,
            "float32",
            f"nudgeline-frames-{session}",
        )
        frames.set_channel_labels([name for name, _ in FRAME_CHANNELS])
        frames.set_channel_types("Feedback")
        frames.set_channel_units("none")
        _say(frames, "; ".join(f"{name}: {meaning}" for name, meaning in FRAME_CHANNELS))
        self._events: pylsl.StreamOutlet | None = pylsl.StreamOutlet(events)
        self._frames: pylsl.StreamOutlet | None = pylsl.StreamOutlet(frames)
        if self._events.get_info().session_id() != expected:
            self.close()
            raise SourceError(
                "LSL's network configuration is not in force, but publishing needs it; nothing is "
                "published, start the program again."
            )

    def event(self, event: Event) -> None:
        """Publish a point, a state, a setting, a limit or a round; pass over anything else."""
        if self._events is not None and isinstance(event, PUBLISHED):
            self._events.push_sample([published(event)])

    def frame(self, frame: Frame) -> None:
        """Publish a client frame; call it at least 25 times a second."""
        if self._frames is not None:
            self._frames.push_sample(
                [
                    frame.progress,
                    frame.closeness,
                    float(frame.clear),
                    float(frame.points),
                    float(PHASES.index(frame.phase)),
                    float(PROMPTS.index(frame.prompt)),
                ]
            )

    def close(self) -> None:
        """Close both outlets; publishing afterwards does nothing."""
        self._events = self._frames = None


def published(event: Event) -> str:
    """Return an event as the JSON of its marker, without what people wrote or who they are."""
    values = {key: value for key, value in to_record(event).items() if key not in PRIVATE}
    return json.dumps(values, ensure_ascii=False)


def _say(info: pylsl.StreamInfo, meaning: str) -> None:
    desc = info.desc()
    desc.append_child_value("manufacturer", "Nudgeline")
    desc.append_child_value("meaning", meaning)
