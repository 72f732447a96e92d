"""Points a minute of clear time: over the last minute, since the last change, and as a course."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np

from engine.events import PointEarned, SettingChanged, State, Tick

WINDOW_S = 60.0
YOUNG_S = 30.0
COURSE_EVERY_S = 1.0
COURSE_KEPT = 3600


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


class RateMeter:
    """Counts ticks of rounds, and forgets those older than the window.

    Only ticks of a round count (not STOPPED); those that are not OBSCURED are clear time. The
    window is the last 60 s of round time; means and shares speak of its clear ticks. ``course``
    holds (time_s, points a minute) once a second, the last `COURSE_KEPT` of them.
    """

    def __init__(self, tick_s: float, n_conditions: int):
        self.tick_s = tick_s
        self.n_conditions = n_conditions
        self.course: list[tuple[float, float]] = []
        self._n_window = round(WINDOW_S / tick_s)
        self._n_course = max(1, round(COURSE_EVERY_S / tick_s))
        self._clear = np.zeros(self._n_window, dtype=bool)
        self._amplitudes = np.zeros((self._n_window, n_conditions))
        self._met = np.zeros((self._n_window, n_conditions), dtype=bool)
        self._points: deque[int] = deque()
        self._round_ticks = 0
        self._n_clear = 0
        self._since_points = 0
        self._since_clear = 0

    def add(self, item: object) -> None:
        """Take one output of the pipeline, in order."""
        if isinstance(item, Tick) and item.state is not State.STOPPED:
            self._add_tick(item)
        elif isinstance(item, PointEarned):
            self._points.append(self._round_ticks)
            self._since_points += 1
        elif isinstance(item, SettingChanged):
            self._since_points = self._since_clear = 0

    def _add_tick(self, tick: Tick) -> None:
        clear = tick.state is not State.OBSCURED
        place = self._round_ticks % self._n_window
        self._n_clear += clear - int(self._clear[place])
        self._clear[place] = clear
        self._amplitudes[place] = tick.amplitudes_uv
        self._met[place] = tick.met
        self._round_ticks += 1
        self._since_clear += clear
        while self._points and self._points[0] <= self._round_ticks - self._n_window:
            self._points.popleft()
        if self._round_ticks % self._n_course == 0:
            now = self.last_minute()
            if now.per_minute is not None:
                self.course = [*self.course[1 - COURSE_KEPT :], (tick.time_s, now.per_minute)]

    def last_minute(self) -> Rate:
        """Return the rate of the last 60 s of round time."""
        return rate_of(len(self._points), self._n_clear * self.tick_s)

    def since_change(self) -> Rate:
        """Return the rate since a setting last changed."""
        return rate_of(self._since_points, self._since_clear * self.tick_s)

    def clear_share(self) -> float:
        """Return the share of the last minute that was clear."""
        n_ticks = min(self._round_ticks, self._n_window)
        return self._n_clear / n_ticks if n_ticks else 0.0

    def last_minute_means(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Return (mean amplitude, share of time met) a condition; nan without clear ticks."""
        if not self._n_clear:
            nothing = (float("nan"),) * self.n_conditions
            return nothing, nothing
        means = self._amplitudes[self._clear].mean(axis=0)
        shares = self._met[self._clear].mean(axis=0)
        return tuple(means.tolist()), tuple(shares.tolist())
