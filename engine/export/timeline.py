"""When everything in a recording happened and for how long, in seconds since its first sample."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from engine.events import (
    Event,
    HoldOff,
    HoldOffEnd,
    RoundStart,
    RoundStop,
    SegmentStart,
    StateChanged,
    StretchStart,
    StretchStop,
)
from engine.export.words import said
from engine.session.recording_reader import RecordedSession


@dataclass(frozen=True)
class Happening:
    """One event. ``duration_s`` is how long it stood, None for what has no length."""

    onset_s: float
    kind: str
    text: str
    sample: int
    by: str = ""
    duration_s: float | None = None


@dataclass(frozen=True)
class Segment:
    """Samples ``first`` to ``end`` (not with it), the first of them at ``start_s``."""

    first: int
    end: int
    start_s: float


@dataclass(frozen=True, eq=False)
class Timeline:
    """A recording's segments that hold samples, and all that happened, in order."""

    sfreq: float
    segments: tuple[Segment, ...]
    happenings: tuple[Happening, ...]

    @property
    def end_s(self) -> float:
        """Time at which the last sample has passed."""
        if not self.segments:
            return 0.0
        last = self.segments[-1]
        return last.start_s + (last.end - last.first) / self.sfreq


def timeline_of(session: RecordedSession) -> Timeline:
    """Walk through a recording's events."""
    walk = _Walk(session.info.sfreq)
    for event in session.events():
        walk.take(event)
    return walk.finished(session.n_samples)


def clock_time(began: datetime | None, time_s: float) -> str:
    """Return the time of day to the millisecond, with its offset to UTC; empty where unknown."""
    if began is None:
        return ""
    return (began + timedelta(seconds=time_s)).isoformat(sep=" ", timespec="milliseconds")


class _Walk:
    def __init__(self, sfreq: float):
        self._sfreq = sfreq
        self._first, self._start_s = 0, 0.0
        self._segments: list[Segment] = []
        self._happenings: list[Happening] = []
        self._open: dict[str, int] = {}

    def take(self, event: Event) -> None:
        """Add one event, and end what it ends."""
        before_s = self._time_s(event.sample)
        if isinstance(event, SegmentStart):
            self._begin(event.sample, event.start_s)
        kind, text = said(event)
        happening = Happening(
            getattr(event, "onset_s", before_s),
            kind,
            text,
            event.sample,
            by=getattr(event, "by", ""),
        )
        if kind == "gap":
            happening = replace(happening, duration_s=max(0.0, self._start_s - before_s))
        if isinstance(event, RoundStop | HoldOffEnd | StretchStop | StateChanged):
            self._end(_name(event), happening.onset_s)
        if isinstance(event, RoundStart | HoldOff | StretchStart | StateChanged):
            self._open[_name(event)] = len(self._happenings)
        self._happenings.append(happening)

    def finished(self, n_samples: int) -> Timeline:
        """End everything at the last sample."""
        end_s = self._time_s(n_samples)
        for name in list(self._open):
            self._end(name, end_s)
        self._begin(n_samples, end_s)
        return Timeline(self._sfreq, tuple(self._segments), tuple(self._happenings))

    def _time_s(self, sample: int) -> float:
        return self._start_s + (sample - self._first) / self._sfreq

    def _begin(self, sample: int, start_s: float) -> None:
        if sample > self._first:
            self._segments.append(Segment(self._first, sample, self._start_s))
        self._first, self._start_s = sample, start_s

    def _end(self, name: str, at_s: float) -> None:
        place = self._open.pop(name, None)
        if place is not None:
            begun = self._happenings[place]
            duration_s = max(0.0, at_s - begun.onset_s)
            self._happenings[place] = replace(begun, duration_s=duration_s)


def _name(event: Event) -> str:
    """Return under which name a span begins and ends."""
    if isinstance(event, HoldOff | HoldOffEnd):
        return f"hold off {event.why}"
    if isinstance(event, StretchStart | StretchStop):
        return f"stretch {event.what}"
    return "state" if isinstance(event, StateChanged) else "round"
