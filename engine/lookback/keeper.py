"""The course of a session as it runs: heard tick by tick, kept second by second.

An hour takes about half a megabyte; what one tick leaves behind is a sum.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import deque
from datetime import datetime
from itertools import islice

import numpy as np

from engine.chunk import Floats
from engine.events import Reason, State, Tick
from engine.lookback.course import Course, Rows, Span
from engine.lookback.happenings import Happenings, Period
from engine.protocol import Protocol
from engine.reward import criterion
from engine.reward.criterion import CriterionState, Times
from engine.settings import AVERAGING_S, Settings
from engine.signal.grid import Grid, grid_for

Kept = tuple[float, ...]
"""time_s, first tick, n_ticks, n_clear, round, stretch, then a sum of µV and of met a condition."""


class FixedScore:
    """The criterion run beside the session's own, at the settings of its first round."""

    def __init__(self, settings: Settings, grid: Grid, above: tuple[bool, ...]):
        self.settings = settings
        self.points: list[tuple[int, float]] = []
        self._above = above
        self._times = Times.of(settings, grid)
        self._n_averaged = [grid.averaged_ticks(seconds) for seconds in settings.averaging_s]
        self._state = CriterionState()

    def add(self, tick: Tick, recent: deque[tuple[float, ...]]) -> None:
        """Take a tick; ``recent`` holds the amplitudes before averaging, this tick's last."""
        running = tick.state is not State.STOPPED
        clear = not tick.reasons
        met = running and clear and self._met(recent)
        self._state, verdict = criterion.step(
            self._state, self._times, running=running, obscured=not clear, met=met
        )
        if verdict.point:
            self.points.append((tick.tick, tick.time_s))

    def _met(self, recent: deque[tuple[float, ...]]) -> bool:
        for i, (n, threshold, above) in enumerate(
            zip(self._n_averaged, self.settings.thresholds_uv, self._above, strict=True)
        ):
            newest = islice(reversed(recent), n)
            mean = sum(fast[i] for fast in newest) / min(n, len(recent))
            if not (mean >= threshold if above else mean <= threshold):
                return False
        return True


class CourseKeeper:
    """Hears every tick and event of one session; events may come ahead of their ticks.

    Parameters
    ----------
    sfreq : the accepted sampling rate, Hz, on which the ticks were made.
    id, began_utc : as in `Course`.
    """

    def __init__(
        self,
        protocol: Protocol,
        sfreq: float,
        *,
        id: str = "",
        began_utc: datetime | None = None,
    ):
        self.protocol = protocol
        self.id, self.began_utc = id, began_utc
        self._grid = grid_for(sfreq)
        self._happened = Happenings(protocol, sfreq)
        self._fixed: FixedScore | None = None
        self._recent: deque[tuple[float, ...]] = deque(
            maxlen=self._grid.averaged_ticks(AVERAGING_S[1])
        )
        self._kept: list[Kept] = []
        self._now: list[float] = []
        self._spans: list[Span] = []
        self._span: tuple[float, Reason] | None = None
        self._end_s = 0.0
        self._n_samples = 0

    def hear(self, item: object) -> None:
        """Take one tick or event, in order; what a course does not hold passes."""
        if isinstance(item, Tick):
            self._hear_tick(item)
        else:
            self._happened.hear(item)

    def _hear_tick(self, tick: Tick) -> None:
        self._recent.append(tick.fast_uv)
        if self._fixed is None and tick.state is not State.STOPPED:
            settings = self._happened.settings_before(tick.tick)
            self._fixed = FixedScore(settings, self._grid, self.protocol.above)
        if self._fixed is not None:
            self._fixed.add(tick, self._recent)
        self._add_span(tick)
        self._add_row(tick)
        self._end_s = tick.time_s
        self._n_samples = tick.sample + 1

    def _add_span(self, tick: Tick) -> None:
        before, tick_s = self._end_s, self._grid.tick_s
        reason = tick.reasons[0] if tick.reasons else None
        gap = self._n_samples > 0 and tick.time_s - before > 1.5 * tick_s
        if self._span is not None and (gap or reason is not self._span[1]):
            self._spans.append(Span(self._span[0], before, self._span[1]))
            self._span = None
        if gap:
            self._spans.append(Span(before, tick.time_s - tick_s, Reason.GAP))
        if reason is not None and self._span is None:
            self._span = max(0.0, tick.time_s - tick_s), reason

    def _add_row(self, tick: Tick) -> None:
        place = (
            0 if tick.state is State.STOPPED else began(self._happened.rounds, tick.sample),
            inside(self._happened.stretches, tick.sample),
        )
        begins_s = max(0.0, tick.time_s - self._grid.tick_s)
        n = len(self.protocol.conditions)
        now = self._now
        if not now or (now[4], now[5]) != place or int(now[0]) != int(begins_s):
            if now:
                self._kept.append(tuple(now))
            now = self._now = [begins_s, tick.tick, 0, 0, *place, *(0.0,) * (2 * n)]
        now[2] += 1
        if not tick.reasons:
            now[3] += 1
            for i in range(n):
                now[6 + i] += tick.amplitudes_uv[i]
                now[6 + n + i] += tick.met[i]

    def course(self, ended: str = "") -> Course:
        """Return the course of all that was heard so far."""
        n = len(self.protocol.conditions)
        kept = [*self._kept, tuple(self._now)] if self._now else self._kept
        table = np.array(kept, dtype=np.float64).reshape(len(kept), 6 + 2 * n)
        fixed = self._fixed
        earned = np.array([point.tick for point in self._happened.points])
        would = np.array([tick for tick, _ in fixed.points]) if fixed else np.empty(0)
        spans = list(self._spans)
        if self._span is not None:
            spans.append(Span(self._span[0], self._end_s, self._span[1]))
        return self._happened.course(
            rows_of(table, earned, would),
            spans,
            fixed.settings if fixed else None,
            [time_s for _, time_s in fixed.points] if fixed else [],
            self._n_samples,
            id=self.id,
            began_utc=self.began_utc,
            ended=ended,
        )


def rows_of(table: Floats, earned: Floats, would: Floats) -> Rows:
    """Return rows from `Kept` ones, (n_rows, 6 + 2 n_conditions).

    ``earned`` and ``would`` are the ticks of points, ascending: given, and at fixed settings.
    """
    n = (table.shape[1] - 6) // 2
    whole = table[:, 1:6].astype(np.int64)
    first, last = whole[:, 0], whole[:, 0] + whole[:, 1]
    clear = np.where(table[:, 3:4] > 0, table[:, 3:4], np.nan)
    return Rows(
        time_s=table[:, 0],
        n_ticks=whole[:, 1],
        n_clear=whole[:, 2],
        round=whole[:, 3],
        stretch=whole[:, 4],
        mean_uv=table[:, 6 : 6 + n] / clear,
        met_share=table[:, 6 + n :] / clear,
        points=np.searchsorted(earned, last) - np.searchsorted(earned, first),
        fixed_points=np.searchsorted(would, last) - np.searchsorted(would, first),
    )


def began(periods: list[Period], sample: int) -> int:
    """Return which period a sample belongs to, 1 for the first: the last that began by then."""
    return bisect_right(periods, sample, key=lambda period: period.start)


def inside(periods: list[Period], sample: int) -> int:
    """Return which period a sample lies in, 1 for the first; 0 outside of all."""
    place = began(periods, sample)
    if not place:
        return 0
    stop = periods[place - 1].stop
    return place if stop is None or sample < stop else 0
