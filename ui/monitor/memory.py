"""All that the desk knows, gathered from the host's messages; no Qt."""

from __future__ import annotations

from dataclasses import dataclass

from engine.events import Note, PointEarned, SettingChanged
from engine.session.client_frame import ClientView, after_tick
from engine.session.messages import Batch, Hello, Status
from ui.monitor.history import TickHistory, TraceHistory

LANE_S = 40.0
"""Seconds of amplitude and of raw trace on screen."""
JOIN_S = 8.0
"""Changes of one setting that follow each other within so long are one flag."""


@dataclass(frozen=True)
class Change:
    """One flag on the rate picture: a setting before and after."""

    time_s: float
    key: str
    old: float
    new: float


class Memory:
    """What was heard since the first `Hello` of a session."""

    def __init__(self, hello: Hello):
        n = len(hello.protocol.conditions)
        self.hello = hello
        self.status: Status | None = None
        self.settings = hello.settings
        self.ticks = TickHistory(n, hello.tick_s, LANE_S)
        self.trace = TraceHistory(max(1, len(hello.signals)), hello.trace_sfreq, LANE_S)
        self.changes: list[Change] = []
        self.points_s: list[float] = []
        self.note = ""
        self.note_s = 0.0
        self.client_view = ClientView()

    def renewed(self, hello: Hello) -> Memory:
        """Return a memory for another `Hello` of the same session: what still fits is kept."""
        new = Memory(hello)
        new.changes, new.points_s = self.changes, self.points_s
        new.note, new.note_s = self.note, self.note_s
        alike = (hello.tick_s, hello.trace_sfreq, hello.signals, hello.protocol.conditions)
        old = self.hello
        if alike == (old.tick_s, old.trace_sfreq, old.signals, old.protocol.conditions):
            new.ticks, new.trace = self.ticks, self.trace
        return new

    def take(self, message: object) -> None:
        """Take up a message; those that tell nothing lasting pass."""
        if isinstance(message, Batch):
            self.ticks.append(message.ticks, self.settings.thresholds_uv)
            self.trace.append(message)
            for tick in message.ticks:
                self.client_view = after_tick(self.client_view, tick, self.hello.tick_s)
        elif isinstance(message, Status):
            self.status = message
            self.settings = message.settings
        elif isinstance(message, PointEarned):
            self.points_s.append(message.onset_s)
            self.ticks.point(message.onset_s)
        elif isinstance(message, SettingChanged):
            self.settings = self.settings.changed(message.key, message.new)
            self._flag(message)
        elif isinstance(message, Note):
            self.note, self.note_s = message.text, message.onset_s

    def _flag(self, change: SettingChanged) -> None:
        last = self.changes[-1] if self.changes else None
        if last and last.key == change.key and change.onset_s - last.time_s < JOIN_S:
            self.changes[-1] = Change(change.onset_s, change.key, last.old, change.new)
        else:
            self.changes.append(Change(change.onset_s, change.key, change.old, change.new))

    @property
    def now_s(self) -> float:
        """The newest time heard of, seconds of the session."""
        tick = self.ticks.latest
        status = self.status.time_s if self.status else 0.0
        return max(tick.time_s if tick else 0.0, status)
