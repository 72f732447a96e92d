"""Finding breaks and the true rate in the time stamps of a recorded stream.

Stamps of real streams step backwards and arrive in bursts, because chunks are often stamped on
arrival. So one long step says little: a break is where the stamps, held against the count of
samples, move to another level and stay there.
"""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Floats

BREAK_S = 0.1
"""A shift smaller than this is jitter; samples are taken as unbroken."""

WINDOW_S = 2.0
JUMP_S = 1.0


def breaks_and_rate(stamps_s: Floats) -> tuple[tuple[int, ...], float]:
    """Return the index of the first sample after each break, and the rate between breaks (Hz).

    ``stamps_s`` is (n_samples,). The rate is 0 where the stamps never advance.
    """
    steps = np.diff(stamps_s)
    found = np.flatnonzero(np.abs(steps) > JUMP_S) + 1
    rate = _rate(stamps_s, found)
    for limit_s in (BREAK_S / 2, BREAK_S):  # the first rate still holds the shorter breaks
        if rate <= 0:
            return (), 0.0
        found = _breaks(stamps_s, steps, rate, limit_s)
        rate = _rate(stamps_s, found)
    return tuple(int(i) for i in found), rate


def _rate(stamps_s: Floats, breaks: NDArray[np.int64]) -> float:
    """Intervals within segments over the time that they took."""
    edges = [0, *breaks.tolist(), stamps_s.size]
    intervals, seconds = 0, 0.0
    for first, end in itertools.pairwise(edges):
        span = stamps_s[end - 1] - stamps_s[first] if end > first else 0.0
        if span > 0:
            intervals += end - first - 1
            seconds += float(span)
    return intervals / seconds if seconds > 0 else 0.0


def _breaks(stamps_s: Floats, steps: Floats, rate: float, limit_s: float) -> NDArray[np.int64]:
    level = stamps_s - np.arange(stamps_s.size) / rate
    window = max(3, round(WINDOW_S * rate))
    far = np.flatnonzero(np.abs(steps) > JUMP_S) + 1
    kept = []
    for i in np.flatnonzero(np.abs(steps - 1.0 / rate) > limit_s) + 1:
        before_any = far[far < i]
        after_any = far[far > i]
        first = max(i - window, int(before_any[-1]) if before_any.size else 0)
        end = min(i + window, int(after_any[0]) if after_any.size else stamps_s.size)
        if abs(np.median(level[i:end]) - np.median(level[first:i])) > limit_s:
            kept.append(i)
    return np.asarray(kept, dtype=np.int64)
