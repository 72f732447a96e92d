"""What the desk remembers of the last stretch, ready to be drawn; no Qt.

Ticks and trace samples arrive in batches and are kept in arrays whose newest part is always one
unbroken slice, so that a picture reads without copying.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Floats
from engine.events import Reason, State, Tick
from engine.session.messages import Batch

Flags = NDArray[np.bool_]


class Recent:
    """The newest ``capacity`` rows of a table of numbers; older rows are let go."""

    def __init__(self, capacity: int, width: int):
        self._data = np.empty((2 * capacity, width))
        self._capacity = capacity
        self._end = 0

    def append(self, rows: Floats) -> None:
        """Add (n_rows, width)."""
        rows = rows[-self._capacity :]
        if self._end + rows.shape[0] > self._data.shape[0]:
            kept = self._data[max(0, self._end - self._capacity) : self._end].copy()
            self._data[: kept.shape[0]] = kept
            self._end = kept.shape[0]
        self._data[self._end : self._end + rows.shape[0]] = rows
        self._end += rows.shape[0]

    @property
    def rows(self) -> Floats:
        """The rows kept, oldest first: a view, good until the next `append`."""
        return self._data[max(0, self._end - self._capacity) : self._end]


@dataclass(frozen=True)
class HiddenSpan:
    """An obscured stretch, seconds of the session, and every reason in it but the guard."""

    start_s: float
    end_s: float
    reasons: tuple[Reason, ...]


class TickHistory:
    """Amplitudes, met flags and thresholds of the last ``span_s`` seconds, and hidden spans."""

    def __init__(self, n_conditions: int, tick_s: float, span_s: float):
        self._n = n_conditions
        self._tick_s = tick_s
        self._span_s = span_s
        self._rows = Recent(int(span_s / tick_s) + 2, 1 + 3 * n_conditions)
        self._spans: list[HiddenSpan] = []
        self._point_s: float | None = None
        self.latest: Tick | None = None

    def append(self, ticks: tuple[Tick, ...], thresholds_uv: tuple[float, ...]) -> None:
        """Take up ticks, which were held against ``thresholds_uv``."""
        if not ticks:
            return
        self._rows.append(
            np.array([(t.time_s, *t.amplitudes_uv, *_counted(t), *thresholds_uv) for t in ticks])
        )
        for tick in ticks:
            self._note(tick)
        self.latest = ticks[-1]
        oldest = ticks[-1].time_s - self._span_s
        self._spans = [span for span in self._spans if span.end_s > oldest]

    def _note(self, tick: Tick) -> None:
        if not tick.reasons:
            return
        named = tuple(r for r in tick.reasons if r is not Reason.GUARD)
        start_s = tick.time_s - self._tick_s
        last = self._spans[-1] if self._spans else None
        if last is None or start_s - last.end_s > 0.5 * self._tick_s:
            self._spans.append(HiddenSpan(start_s, tick.time_s, named))
            return
        new = tuple(r for r in named if r not in last.reasons)
        self._spans[-1] = HiddenSpan(last.start_s, tick.time_s, last.reasons + new)

    @property
    def times_s(self) -> Floats:
        """(n_ticks,)."""
        return self._rows.rows[:, 0]

    @property
    def amplitudes_uv(self) -> Floats:
        """(n_ticks, n_conditions)."""
        return self._rows.rows[:, 1 : 1 + self._n]

    @property
    def met(self) -> Flags:
        """(n_ticks, n_conditions): met, and not hidden."""
        return self._rows.rows[:, 1 + self._n : 1 + 2 * self._n] > 0.5

    @property
    def thresholds_uv(self) -> Floats:
        """(n_ticks, n_conditions): the thresholds that each tick was held against."""
        return self._rows.rows[:, 1 + 2 * self._n :]

    @property
    def spans(self) -> tuple[HiddenSpan, ...]:
        """Hidden spans still in view, oldest first."""
        return tuple(self._spans)

    def hidden_since(self, window_s: float) -> HiddenSpan | None:
        """Return the newest hidden span if it reaches into the last ``window_s`` seconds."""
        if self.latest is None or not self._spans:
            return None
        last = self._spans[-1]
        return last if self.latest.time_s - last.end_s < window_s else None

    def point(self, onset_s: float) -> None:
        """Take up a point: its quiet time begins."""
        self._point_s = onset_s

    @property
    def quiet_elapsed_s(self) -> float:
        """Seconds of quiet time gone by, 0 outside it."""
        if self.latest is None or self._point_s is None or self.latest.state is not State.QUIET:
            return 0.0
        return self.latest.time_s - self._point_s


def _counted(tick: Tick) -> tuple[bool, ...]:
    """Return which conditions count as met: none while the signal is hidden."""
    return (False,) * len(tick.met) if tick.reasons else tick.met


class TraceHistory:
    """The high-passed trace of the last ``span_s`` seconds."""

    def __init__(self, n_signals: int, sfreq: float, span_s: float):
        self._n = n_signals
        self._sfreq = sfreq
        self._rows = Recent(int(span_s * sfreq) + 2, 1 + n_signals)
        self.lost_samples = 0

    def append(self, batch: Batch) -> None:
        """Take up a batch's trace; its times count back from ``trace_end_s``."""
        n = batch.trace_uv.shape[0]
        self.lost_samples += batch.lost_samples
        if n == 0 or batch.trace_uv.shape[1] != self._n:
            return
        times = batch.trace_end_s - (n - 1 - np.arange(n)) / self._sfreq
        self._rows.append(np.column_stack([times, batch.trace_uv]))

    @property
    def times_s(self) -> Floats:
        """(n_samples,)."""
        return self._rows.rows[:, 0]

    @property
    def trace_uv(self) -> Floats:
        """(n_samples, n_signals)."""
        return self._rows.rows[:, 1:]


def extremes(times: Floats, values: Floats, bin_s: float) -> tuple[Floats, Floats]:
    """Thin a trace to the lowest and highest value of every bin of ``bin_s`` seconds.

    Bins lie on whole multiples of ``bin_s``, so that a picture that moves does not shimmer; a
    hole of more than three bins stays a hole (NaN). Returns times and values, (n,) each.
    """
    finite = np.isfinite(values)
    times, values = times[finite], values[finite]
    if times.size == 0:
        return np.empty(0), np.empty(0)
    bins = np.floor(times / bin_s).astype(np.int64)
    starts = np.concatenate([[0], np.flatnonzero(np.diff(bins)) + 1])
    lows = np.minimum.reduceat(values, starts)
    highs = np.maximum.reduceat(values, starts)
    centres = (bins[starts] + 0.5) * bin_s
    x = np.repeat(centres, 2)
    y = np.column_stack([lows, highs]).ravel()
    holes = np.flatnonzero(np.diff(bins[starts]) > 3)
    return np.insert(x, 2 * (holes + 1), centres[holes]), np.insert(y, 2 * (holes + 1), np.nan)


def averages(
    times: Floats, values: Floats, met: Flags, bin_s: float
) -> tuple[Floats, Floats, Flags]:
    """Thin a smooth line to the mean of every bin of ``bin_s`` seconds, and whether it was met.

    ``values`` and ``met`` are (n_ticks, k). Bins lie on whole multiples of ``bin_s``; a hole of
    more than three bins stays a hole (NaN, not met). A bin is met when most of its ticks are.
    """
    if times.size == 0:
        return np.empty(0), values, met
    bins = np.floor(times / bin_s).astype(np.int64)
    starts = np.concatenate([[0], np.flatnonzero(np.diff(bins)) + 1])
    counts = np.diff(np.append(starts, times.size))[:, None]
    x = (bins[starts] + 0.5) * bin_s
    y = np.add.reduceat(values, starts, axis=0) / counts
    share = np.add.reduceat(met.astype(float), starts, axis=0) / counts
    holes = np.flatnonzero(np.diff(bins[starts]) > 3) + 1
    return (
        np.insert(x, holes, x[holes - 1] + bin_s),
        np.insert(y, holes, np.nan, axis=0),
        np.insert(share > 0.5, holes, False, axis=0),
    )
