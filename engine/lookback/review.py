"""What a session came to: by round, by minute, before and after, and around every change.

All numbers are of clear signal. A rate is points a clear minute; beside the rate that was earned
stands the one at the settings of the first round throughout (`Course.fixed`), since points are
comparable across a change of settings only when they are scored alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from engine.events import SettingChanged
from engine.lookback.blocks import BandChange, band_changes
from engine.lookback.course import Bools, Course, Rows
from engine.reward.rate import rate_of

MINUTE_S = 60.0
AROUND_S = 120.0
"""Round time before and after a change that its effect is read from, at most."""

JOIN_S = 8.0
"""Changes of one setting that follow each other within so long are one."""

LEAST_CLEAR_S = 30.0
"""Less clear time on one side of a change says nothing of its effect."""


@dataclass(frozen=True)
class Piece:
    """Numbers of some rows together, one a condition where they are tuples.

    Attributes
    ----------
    name : such as "round 2". start_s, stop_s : since the session's first sample.
    mean_uv : in the protocol's scale. met_share : at the thresholds of the moment. NaN without
        clear time.
    points : earned. rate : a clear minute, None before a second of clear time.
    fixed_rate : the same at the settings ``Course.fixed``.
    clear_share, zone_share : of the time; NaN without any, in zone also outside of rounds.
    """

    name: str
    start_s: float
    stop_s: float
    mean_uv: tuple[float, ...]
    met_share: tuple[float, ...]
    points: int
    rate: float | None
    fixed_rate: float | None
    total_s: float
    clear_s: float
    clear_share: float
    zone_share: float


@dataclass(frozen=True)
class Effect:
    """One setting changed, and round time before and after it, up to the neighbouring changes.

    ``enough`` is whether both sides hold clear time to compare. ``by`` and ``how`` as logged.
    """

    key: str
    old: float
    new: float
    time_s: float
    by: str
    how: str
    before: Piece
    after: Piece

    @property
    def enough(self) -> bool:
        return min(self.before.clear_s, self.after.clear_s) >= LEAST_CLEAR_S


@dataclass(frozen=True)
class Review:
    """``before`` and ``after`` are the baselines, None where there was none."""

    course: Course
    whole: Piece
    rounds: tuple[Piece, ...]
    minutes: tuple[Piece, ...]
    before: Piece | None
    after: Piece | None
    effects: tuple[Effect, ...]

    @cached_property
    def changes(self) -> tuple[BandChange, ...]:
        """What changed of every band, in the protocol's order; found when it is first asked for."""
        return band_changes(self.course)


def review(course: Course) -> Review:
    """Return what a session came to."""
    rounds = tuple(
        _piece(course, f"round {place}", course.rows.round == place)
        for place in range(1, len(course.rounds) + 1)
        if (course.rows.round == place).any()
    )
    return Review(
        course=course,
        whole=_piece(course, "the session", course.rows.round > 0),
        rounds=rounds,
        minutes=_minutes(course),
        before=_baseline(course, "baseline before"),
        after=_baseline(course, "baseline after"),
        effects=_effects(course),
    )


def _piece(course: Course, name: str, chosen: Bools) -> Piece:
    rows, tick_s = course.rows.where(chosen), course.tick_s
    total_s, clear_s = float(rows.n_ticks.sum()) * tick_s, float(rows.n_clear.sum()) * tick_s
    ends = float(rows.time_s[-1] + rows.n_ticks[-1] * tick_s) if len(rows) else 0.0
    in_zone = rows.n_ticks @ course.in_zone()[chosen] if len(rows) else 0
    points = int(rows.points.sum())
    return Piece(
        name=name,
        start_s=float(rows.time_s[0]) if len(rows) else 0.0,
        stop_s=ends,
        mean_uv=tuple(rows.mean(rows.mean_uv).tolist()),
        met_share=tuple(rows.mean(rows.met_share).tolist()),
        points=points,
        rate=rate_of(points, clear_s).per_minute,
        fixed_rate=rate_of(int(rows.fixed_points.sum()), clear_s).per_minute,
        total_s=total_s,
        clear_s=clear_s,
        clear_share=clear_s / total_s if total_s else float("nan"),
        zone_share=float(in_zone) * tick_s / total_s if total_s else float("nan"),
    )


def _baseline(course: Course, what: str) -> Piece | None:
    found = course.stretch_rows(what)
    if not len(found):
        return None
    return _piece(course, what, np.isin(course.rows.time_s, found.time_s))


def _minutes(course: Course) -> tuple[Piece, ...]:
    """Return every minute of every round, counted from its start; the last may be shorter."""
    found = []
    for place, begun in enumerate(course.rounds, start=1):
        inside = course.rows.round == place
        # A row begins with its first tick, whose samples reach back before the round's first one.
        since_s = np.maximum(course.rows.time_s - begun.start_s, 0.0)
        minute = (since_s // MINUTE_S).astype(np.int64)
        for number in np.unique(minute[inside]).tolist():
            name = f"round {place}, minute {number + 1}"
            found.append(_piece(course, name, inside & (minute == number)))
    return tuple(found)


def _effects(course: Course) -> tuple[Effect, ...]:
    """Return what every change of a setting did, several quick ones of one setting as one."""
    joined: list[list[SettingChanged]] = []
    for change in course.changes:
        last = joined[-1][-1] if joined else None
        near = last is not None and change.onset_s - last.onset_s <= JOIN_S
        if near and last is not None and last.key == change.key:
            joined[-1].append(change)
        else:
            joined.append([change])
    effects = []
    for place, group in enumerate(joined):
        since = joined[place - 1][-1].onset_s if place else -np.inf
        until = joined[place + 1][0].onset_s if place + 1 < len(joined) else np.inf
        first, last = group[0], group[-1]
        rows, inside = course.rows, course.rows.round > 0
        before = inside & (rows.time_s >= since) & (rows.time_s < first.onset_s)
        after = inside & (rows.time_s >= last.onset_s) & (rows.time_s < until)
        effects.append(
            Effect(
                first.key,
                first.old,
                last.new,
                first.onset_s,
                last.by,
                last.how,
                _piece(course, "before", _nearest(rows, before, course.tick_s, from_end=True)),
                _piece(course, "after", _nearest(rows, after, course.tick_s, from_end=False)),
            )
        )
    return tuple(effect for effect in effects if effect.old != effect.new)


def _nearest(rows: Rows, chosen: Bools, tick_s: float, *, from_end: bool) -> Bools:
    """Return the chosen rows of the `AROUND_S` next to a change."""
    ticks = np.where(chosen, rows.n_ticks, 0)
    order = ticks[::-1] if from_end else ticks
    near = (np.cumsum(order) - order) * tick_s < AROUND_S
    return np.asarray(chosen & (near[::-1] if from_end else near))
