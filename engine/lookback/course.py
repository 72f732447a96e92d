"""The course of a session: what it came to, second by second, and everything that was done in it.

A `Course` is what every look back stands on: the page at the end of a session, its sentences, the
trend across sessions, the report. It comes from a running session (`engine.lookback.keeper`) or
from a recording (`engine.session.recorded_course`), and both give the same.

Amplitudes are microvolts in the protocol's scale (``course.protocol.scale``), averaged as the
criterion took them. Times are seconds since the session's first sample.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Floats
from engine.events import (
    Entry,
    EstimatorChosen,
    LimitChanged,
    Note,
    Reason,
    SettingChanged,
)
from engine.protocol import Condition, Protocol
from engine.settings import Settings

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

RATE_WINDOW_S = 60.0
"""The rate of a second is that of so much round time before its end, as on the desk."""


@dataclass(frozen=True, eq=False)
class Rows:
    """One row a second, or less of one where a round or a stretch begins or ends within it.

    Attributes
    ----------
    time_s : (n_rows,), when the row begins, ascending; missing seconds are gaps.
    n_ticks, n_clear : (n_rows,), ticks of the row, and those of them that were clear.
    round : (n_rows,), 1 for the first of ``course.rounds`` and so on; 0 outside rounds and while
        points were held off.
    stretch : (n_rows,), 1 for the first of ``course.stretches`` and so on, 0 outside.
    mean_uv : (n_rows, n_conditions), over clear ticks; NaN where none was.
    met_share : (n_rows, n_conditions), share of the clear ticks, at the thresholds of the moment.
    points : (n_rows,), earned.
    fixed_points : (n_rows,), that the session would have earned at ``course.fixed`` throughout.
    """

    time_s: Floats
    n_ticks: Ints
    n_clear: Ints
    round: Ints
    stretch: Ints
    mean_uv: Floats
    met_share: Floats
    points: Ints
    fixed_points: Ints

    def __len__(self) -> int:
        return int(self.time_s.shape[0])

    def where(self, chosen: Bools) -> Rows:
        """Return the rows that are chosen, (n_rows,)."""
        return Rows(**{name: values[chosen] for name, values in vars(self).items()})

    def mean(self, values: Floats) -> Floats:
        """Return the mean of ``mean_uv`` or ``met_share`` over clear ticks, (n_conditions,).

        NaN where there is no clear tick.
        """
        weights = self.n_clear.astype(np.float64)
        if not weights.sum():
            return np.full(values.shape[1], np.nan)
        return np.asarray(weights @ np.nan_to_num(values) / weights.sum())


@dataclass(frozen=True)
class Round:
    """``why`` it ended is empty while it runs, or where the recording was cut off."""

    number: int
    start_s: float
    stop_s: float
    why: str = ""


@dataclass(frozen=True)
class Stretch:
    """A baseline or a check: ``what`` is one of `engine.events.STRETCHES`."""

    what: str
    start_s: float
    stop_s: float
    why: str = ""


@dataclass(frozen=True)
class Span:
    """The signal was obscured, first of all for ``reason``; `Reason.GAP` where samples lack."""

    start_s: float
    stop_s: float
    reason: Reason


@dataclass(frozen=True, eq=False)
class Course:
    """All of one session, small enough to keep and to draw.

    Attributes
    ----------
    id : of the session, its recording's stem. began_utc : of the first sample, None if unknown.
    ended : how it ended; empty while it runs, and where it was cut off.
    sfreq, tick_s : accepted sampling rate, Hz; time between two ticks.
    rows : second by second. spans : where the signal was obscured, in and outside of rounds.
    points_s, fixed_points_s : times of the points earned, and of those at ``fixed``.
    start : the settings before the first change.
    fixed : the settings with which the first round began; minutes scored at them are comparable.
    changes : every nudge that took effect. limits : changes of the limits of clearness.
    """

    id: str
    protocol: Protocol
    sfreq: float
    tick_s: float
    began_utc: datetime | None
    ended: str
    rows: Rows
    spans: tuple[Span, ...]
    rounds: tuple[Round, ...]
    stretches: tuple[Stretch, ...]
    points_s: Floats
    fixed_points_s: Floats
    start: Settings
    fixed: Settings
    changes: tuple[SettingChanged, ...]
    limits: tuple[LimitChanged, ...]
    estimators: tuple[EstimatorChosen, ...]
    entries: tuple[Entry, ...]
    notes: tuple[Note, ...]

    @property
    def conditions(self) -> tuple[Condition, ...]:
        return self.protocol.conditions

    @property
    def end_s(self) -> float:
        """End of the last row."""
        if not len(self.rows):
            return 0.0
        return float(self.rows.time_s[-1] + self.rows.n_ticks[-1] * self.tick_s)

    @property
    def visit(self) -> dict[str, Any]:
        """What was written down of the visit: client, number, sleep and so on; later wins."""
        return self.said("visit")

    def said(self, topic: str) -> dict[str, Any]:
        """Return all values written down under a topic, a later one in place of an earlier."""
        values: dict[str, Any] = {}
        for entry in self.entries:
            if entry.topic == topic:
                values |= entry.values
        return values

    def rounds_rows(self) -> Rows:
        """Return the rows of rounds, without what was held off."""
        return self.rows.where(self.rows.round > 0)

    def round_rows(self, place: int) -> Rows:
        """Return the rows of ``rounds[place]``."""
        return self.rows.where(self.rows.round == place + 1)

    def stretch_rows(self, what: str) -> Rows:
        """Return the rows of the last stretch of this name that has any; none where none was."""
        for place in range(len(self.stretches), 0, -1):
            if self.stretches[place - 1].what == what:
                rows = self.rows.where(self.rows.stretch == place)
                if len(rows):
                    return rows
        return self.rows.where(np.zeros(len(self.rows), dtype=bool))

    def threshold_steps(self, band: str) -> tuple[tuple[float, float], ...]:
        """Return (time_s, threshold in µV) of a band: from the start, and at every change."""
        return self.setting_steps(f"{band}.threshold")

    def threshold_line(self, band: str, stop_s: float) -> tuple[Floats, Floats]:
        """Return the corners of a threshold's steps up to a time: seconds and µV, (n,) each."""
        steps = self.threshold_steps(band)
        times = [*np.repeat([time_s for time_s, _ in steps], 2)[1:].tolist(), stop_s]
        return np.array(times), np.repeat([uv for _, uv in steps], 2).astype(np.float64)

    def setting_steps(self, key: str) -> tuple[tuple[float, float], ...]:
        """Return (time_s, value) of a setting: from the start, and at every change."""
        first = ((0.0, self.start.value(key)),)
        return first + tuple((c.onset_s, c.new) for c in self.changes if c.key == key)

    def settings_at(self, time_s: float) -> Settings:
        """Return the settings in force at a time."""
        return settled(self.start, [c for c in self.changes if c.onset_s <= time_s])

    def rate(self) -> Floats:
        """Return points a clear minute of the last 60 s of round time at the end of every row.

        (n_rows,), NaN outside rounds and before a second of clear time.
        """
        return rolling_rate(self.rows, self.rows.points, self.tick_s)

    def fixed_rate(self) -> Floats:
        """Return the same at the settings ``fixed`` throughout: comparable from end to end."""
        return rolling_rate(self.rows, self.rows.fixed_points, self.tick_s)

    def in_zone(self) -> Bools:
        """Return whether the rate was in the target zone at the end of every row, (n_rows,)."""
        low, high = self.protocol.zone
        rate = self.rate()
        return np.asarray((rate >= low) & (rate <= high))


def settled(start: Settings, changes: Sequence[SettingChanged]) -> Settings:
    """Return the settings after changes, in order."""
    for change in changes:
        start = start.changed(change.key, change.new)
    return start


def rolling_rate(rows: Rows, points: Ints, tick_s: float) -> Floats:
    """Return points a clear minute over the last minute of round time, (n_rows,)."""
    inside = np.flatnonzero(rows.round > 0)
    rate = np.full(len(rows), np.nan)
    if not inside.shape[0]:
        return rate
    ticks, clear, earned = (
        np.concatenate([[0], np.cumsum(values[inside])])
        for values in (rows.n_ticks, rows.n_clear, points)
    )
    before = np.searchsorted(ticks, ticks[1:] - round(RATE_WINDOW_S / tick_s), side="left")
    clear_s = (clear[1:] - clear[before]) * tick_s
    with np.errstate(divide="ignore", invalid="ignore"):
        rate[inside] = np.where(clear_s >= 1, (earned[1:] - earned[before]) / clear_s * 60, np.nan)
    return rate
