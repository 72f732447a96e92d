"""All that the desk knows, gathered from the host's messages; no Qt."""

from __future__ import annotations

from dataclasses import dataclass

from engine.events import Note, PointEarned, SettingChanged
from engine.reward.forecast import Forecast
from engine.session.client_frame import ClientView, after_tick
from engine.session.foresight import Foresight
from engine.session.messages import Batch, Hello, Status
from ui.monitor.ahead import Ahead
from ui.monitor.history import TickHistory, TraceHistory
from ui.monitor.wording import reasons_words

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
        self.n_changes = 0
        self.preview: tuple[str, float] | None = None
        self.points_s: list[float] = []
        self.ahead = Ahead()
        self.note = ""
        self.note_s = 0.0
        self.client_view = ClientView()

    def fits(self, hello: Hello) -> bool:
        """Whether another `Hello` speaks of the same pictures: the stream is merely back."""
        old = self.hello
        return (hello.title, hello.tick_s, hello.trace_sfreq, hello.signals, hello.protocol) == (
            old.title,
            old.tick_s,
            old.trace_sfreq,
            old.signals,
            old.protocol,
        )

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
        elif isinstance(message, Foresight):
            self.ahead.take(message, self.now_s)
        elif isinstance(message, PointEarned):
            self.points_s.append(message.onset_s)
            self.ticks.point(message.onset_s)
        elif isinstance(message, SettingChanged):
            self.settings = self.settings.changed(message.key, message.new)
            self._flag(message)
        elif isinstance(message, Note):
            self.note, self.note_s = message.text, message.onset_s

    def _flag(self, change: SettingChanged) -> None:
        self.n_changes += 1
        last = self.changes[-1] if self.changes else None
        if last and last.key == change.key and change.onset_s - last.time_s < JOIN_S:
            self.changes[-1] = Change(change.onset_s, change.key, last.old, change.new)
        else:
            self.changes.append(Change(change.onset_s, change.key, change.old, change.new))

    def hidden_spans(self, now_s: float) -> list[tuple[float, float, str]]:
        """Return the hidden stretches in view with their names, seconds before ``now_s``."""
        return [
            (span.start_s - now_s, span.end_s - now_s, reasons_words(span.reasons))
            for span in self.ticks.spans
        ]

    @property
    def previewed(self) -> Forecast | None:
        """The forecast where a line is being dragged to; None where there is none."""
        if self.preview is None or not self.foreseen:
            return None
        return self.ahead.at(*self.preview)

    @property
    def foreseen(self) -> bool:
        """Whether the forecast is of the settings as they are."""
        return self.ahead.holds(self.settings, self.now_s)

    @property
    def now_s(self) -> float:
        """The newest time heard of, seconds of the session."""
        tick = self.ticks.latest
        status = self.status.time_s if self.status else 0.0
        return max(tick.time_s if tick else 0.0, status)
