"""The events of a session in the order in which they came, and the times that they stand for."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np

from engine.events import (
    Entry,
    EstimatorChosen,
    LimitChanged,
    Note,
    PointEarned,
    RoundStart,
    RoundStop,
    SegmentStart,
    SettingChanged,
    StretchStart,
    StretchStop,
)
from engine.lookback.course import Course, Round, Rows, Span, Stretch
from engine.protocol import Protocol
from engine.settings import Settings
from engine.signal.grid import grid_for


@dataclass
class Period:
    """From one sample up to another; ``stop`` is None while it goes on."""

    name: str
    start: int
    stop: int | None = None
    why: str = ""


@dataclass
class Happenings:
    """Takes the events of a session; those that a course does not hold pass."""

    protocol: Protocol
    sfreq: float
    segments: list[SegmentStart] = field(default_factory=list)
    rounds: list[Period] = field(default_factory=list)
    stretches: list[Period] = field(default_factory=list)
    points: list[PointEarned] = field(default_factory=list)
    changes: list[SettingChanged] = field(default_factory=list)
    _limits: list[LimitChanged] = field(default_factory=list)
    _estimators: list[EstimatorChosen] = field(default_factory=list)
    _entries: list[Entry] = field(default_factory=list)
    _notes: list[Note] = field(default_factory=list)

    def hear(self, event: object) -> None:
        """Take one event."""
        if isinstance(event, SegmentStart):
            self.segments.append(event)
        elif isinstance(event, RoundStart):
            self._close(self.rounds, event.sample, "")
            self.rounds.append(Period(str(event.number), event.sample))
        elif isinstance(event, RoundStop):
            self._close(self.rounds, event.sample, event.why)
        elif isinstance(event, StretchStart):
            self._close(self.stretches, event.sample, "")
            self.stretches.append(Period(event.what, event.sample))
        elif isinstance(event, StretchStop):
            self._close(self.stretches, event.sample, event.why)
        else:
            self._keep(event)

    def _keep(self, event: object) -> None:
        if isinstance(event, PointEarned):
            self.points.append(event)
        elif isinstance(event, SettingChanged):
            self.changes.append(event)
        elif isinstance(event, LimitChanged):
            self._limits.append(event)
        elif isinstance(event, EstimatorChosen):
            self._estimators.append(event)
        elif isinstance(event, Entry):
            self._entries.append(event)
        elif isinstance(event, Note):
            self._notes.append(event)

    @staticmethod
    def _close(periods: list[Period], sample: int, why: str) -> None:
        if periods and periods[-1].stop is None:
            periods[-1].stop, periods[-1].why = sample, why

    def time_s(self, sample: int) -> float:
        """Return the time of the sample with this index, seconds since the first."""
        place = bisect_right(self.segments, sample, key=lambda segment: segment.sample) - 1
        if place < 0:
            return sample / self.sfreq
        segment = self.segments[place]
        return segment.start_s + (sample - segment.sample) / self.sfreq

    def settings_before(self, tick: int | None) -> Settings:
        """Return the settings in force before a tick, or the last ones."""
        settings = self.protocol.settings
        for change in self.changes:
            if tick is None or change.tick < tick:
                settings = settings.changed(change.key, change.new)
        return settings

    def course(
        self,
        rows: Rows,
        spans: Sequence[Span],
        fixed: Settings | None,
        fixed_points_s: Sequence[float],
        n_samples: int,
        *,
        id: str,
        began_utc: datetime | None,
        ended: str,
    ) -> Course:
        """Return the course of all that was heard; ``n_samples`` were fed."""

        def until(period: Period) -> float:
            stop = n_samples if period.stop is None else min(period.stop, n_samples)
            return self.time_s(max(stop, period.start) - 1) + 1 / self.sfreq if stop else 0.0

        return Course(
            id=id,
            protocol=self.protocol,
            sfreq=self.sfreq,
            tick_s=grid_for(self.sfreq).tick_s,
            began_utc=began_utc,
            ended=ended,
            rows=rows,
            spans=tuple(spans),
            rounds=tuple(
                Round(int(p.name), self.time_s(p.start), until(p), p.why) for p in self.rounds
            ),
            stretches=tuple(
                Stretch(p.name, self.time_s(p.start), until(p), p.why) for p in self.stretches
            ),
            points_s=np.array([point.onset_s for point in self.points]),
            fixed_points_s=np.array(fixed_points_s, dtype=np.float64),
            start=self.protocol.settings,
            fixed=fixed or self.settings_before(None),
            changes=tuple(self.changes),
            limits=tuple(self._limits),
            estimators=tuple(self._estimators),
            entries=tuple(self._entries),
            notes=tuple(self._notes),
        )
