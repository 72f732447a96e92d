"""The course of a session thinned to what a picture can show; no Qt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engine.chunk import Floats
from engine.lookback.course import Course

BINS_S = (1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0)
MOST_BINS = 180
"""A line of more than so many points is thinned: what is left can be read."""

LEAST_CLEAR = 0.25
"""A value that speaks of less clear time than this share of its bin is not drawn."""

Spans = tuple[tuple[float, float, str], ...]


@dataclass(frozen=True, eq=False)
class Curves:
    """What is drawn of a stretch of a course.

    Attributes
    ----------
    bin_s : what one value speaks of. time_s : (n_bins,), the middle of each.
    mean_uv : (n_bins, n_conditions), over clear ticks; NaN where few were.
    rate_s, rate : (n_rows,), points a clear minute of the last minute, NaN outside of rounds.
    """

    bin_s: float
    time_s: Floats
    mean_uv: Floats
    rate_s: Floats
    rate: Floats

    def place(self, time_s: float) -> int | None:
        """Return the bin that holds a time; None outside of all."""
        if not self.time_s.shape[0]:
            return None
        nearest = int(np.abs(self.time_s - time_s).argmin())
        return nearest if abs(self.time_s[nearest] - time_s) <= self.bin_s / 2 else None


def bin_for(span_s: float) -> float:
    """Return how long a bin is where so much time is shown."""
    return next((b for b in BINS_S if span_s / b <= MOST_BINS), BINS_S[-1])


def curves_of(course: Course, start_s: float, stop_s: float) -> Curves:
    """Return the curves of a stretch; a bin without any row is a hole (NaN)."""
    bin_s = bin_for(stop_s - start_s)
    rows, rate = course.rows, course.rate()
    inside = (rows.time_s >= start_s - bin_s) & (rows.time_s <= stop_s + bin_s)
    kept = rows.where(inside)
    if not len(kept):
        none = np.empty(0)
        return Curves(bin_s, none, np.empty((0, len(course.conditions))), none, none)
    index = (kept.time_s // bin_s).astype(np.int64)
    first = int(index[0])
    n = int(index[-1]) - first + 1
    clear = np.bincount(index - first, kept.n_clear, n)
    sums = np.stack(
        [
            np.bincount(index - first, np.nan_to_num(column) * kept.n_clear, n)
            for column in kept.mean_uv.T
        ],
        axis=1,
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        enough = clear >= LEAST_CLEAR * bin_s / course.tick_s
        means = np.where(enough[:, np.newaxis], sums / clear[:, np.newaxis], np.nan)
    ends = kept.time_s + kept.n_ticks * course.tick_s
    middles = np.asarray((first + np.arange(n) + 0.5) * bin_s, dtype=np.float64)
    return Curves(bin_s, middles, means, ends, rate[inside])


def hidden_spans(course: Course, apart_s: float = 0.0) -> Spans:
    """Return where signal was hidden, without names; spans nearer than ``apart_s`` are joined."""
    joined: list[tuple[float, float, str]] = []
    for span in course.spans:
        if joined and span.start_s - joined[-1][1] <= apart_s:
            joined[-1] = (joined[-1][0], max(joined[-1][1], span.stop_s), "")
        else:
            joined.append((span.start_s, span.stop_s, ""))
    return tuple(joined)


def baseline_levels(course: Course, place: int) -> tuple[tuple[float, float, float], ...]:
    """Return (start_s, stop_s, mean in µV) of every baseline in which something was clear."""
    found = []
    for number, stretch in enumerate(course.stretches, start=1):
        rows = course.rows.where(course.rows.stretch == number)
        mean = float(rows.mean(rows.mean_uv)[place])
        if stretch.what.startswith("baseline") and np.isfinite(mean):
            found.append((stretch.start_s, stretch.stop_s, mean))
    return tuple(found)


def top_of(course: Course, place: int, curves: Curves) -> float:
    """Return what a lane's scale must reach, microvolts."""
    shown = curves.mean_uv[:, place]
    shown = shown[np.isfinite(shown)]
    highest = float(np.percentile(shown, 99)) if shown.shape[0] else 0.0
    steps = [uv for _, uv in course.threshold_steps(course.conditions[place].band)]
    return 1.15 * max([highest, *steps, 0.1])


def minute_marks(start_s: float, stop_s: float) -> list[float]:
    """Return whole minutes, or parts of them, to write along the time, at most about ten."""
    span = max(1.0, stop_s - start_s)
    steps = (5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1200.0)
    step = next((s for s in steps if span / s <= 10), 3600.0)
    first = int(np.ceil(start_s / step - 1e-9))
    last = int(np.floor(stop_s / step + 1e-9))
    return [n * step for n in range(first, last + 1)]
