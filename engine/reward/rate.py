"""Points a minute of clear time: over the last minute, since the last change, and as a course."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

import numpy as np

from engine.events import PointEarned, SettingChanged, State, Tick

WINDOW_S = 60.0
YOUNG_S = 30.0
COURSE_EVERY_S = 1.0


@dataclass(frozen=True)
class Rate:
    """``per_minute`` is None before a second of clear time; ``young`` before 30 s of it."""

    per_minute: float | None
    points: int
    clear_s: float

    @property
    def young(self) -> bool:
        return self.clear_s < YOUNG_S


def rate_of(points: int, clear_s: float) -> Rate:
    """Return the rate that so many points in so much clear time make."""
    return Rate(points / clear_s * 60 if clear_s >= 1.0 else None, points, clear_s)


def ceiling(hold_s: float, quiet_s: float) -> float:
    """Return the most points a minute that hold and quiet time allow."""
    return 60.0 / (hold_s + quiet_s)


@dataclass
class RateMeter:
    """Counts ticks of rounds, and forgets those older than the window.

    Only ticks of a round count (not STOPPED); those that are not OBSCURED are clear time. The
    window is the last 60 s of round time; ``mean_uv`` and ``met_share`` speak of its clear ticks.
    """

    tick_s: float
    n_conditions: int
    _clear: deque[bool] = field(default_factory=deque)
    _rows: deque[tuple[tuple[float, ...], tuple[bool, ...]]] = field(default_factory=deque)
    _points: deque[int] = field(default_factory=deque)
    _round_ticks: int = 0
    _since: list[int] = field(default_factory=lambda: [0, 0])
    course: list[tuple[float, float]] = field(default_factory=list)

    def add(self, item: object) -> None:
        """Take one output of the pipeline, in order."""
        if isinstance(item, Tick) and item.state is not State.STOPPED:
            self._add_tick(item)
        elif isinstance(item, PointEarned):
            self._points.append(self._round_ticks)
            self._since[0] += 1
        elif isinstance(item, SettingChanged):
            self._since = [0, 0]

    def _add_tick(self, tick: Tick) -> None:
        clear = tick.state is not State.OBSCURED
        self._round_ticks += 1
        self._clear.append(clear)
        self._rows.append((tick.amplitudes_uv, tick.met))
        self._since[1] += clear
        n_window = round(WINDOW_S / self.tick_s)
        while len(self._clear) > n_window:
            self._clear.popleft()
            self._rows.popleft()
        while self._points and self._points[0] <= self._round_ticks - n_window:
            self._points.popleft()
        if self._round_ticks % max(1, round(COURSE_EVERY_S / self.tick_s)) == 0:
            now = self.last_minute()
            if now.per_minute is not None:
                self.course.append((tick.time_s, now.per_minute))

    def last_minute(self) -> Rate:
        """Return the rate of the last 60 s of round time."""
        return rate_of(len(self._points), sum(self._clear) * self.tick_s)

    def since_change(self) -> Rate:
        """Return the rate since a setting last changed."""
        return rate_of(self._since[0], self._since[1] * self.tick_s)

    def clear_share(self) -> float:
        """Return the share of the last minute that was clear."""
        return sum(self._clear) / len(self._clear) if self._clear else 0.0

    def last_minute_means(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Return (mean amplitude, share of time met) a condition; nan without clear ticks."""
        rows = [row for row, clear in zip(self._rows, self._clear, strict=True) if clear]
        if not rows:
            nothing = (float("nan"),) * self.n_conditions
            return nothing, nothing
        means = np.mean([row[0] for row in rows], axis=0)
        shares = np.mean([row[1] for row in rows], axis=0)
        return tuple(means.tolist()), tuple(shares.tolist())
