"""How long the host takes from a sample to what is said of it, kept in bins of fixed number."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

BIN_MS = 0.05
N_BINS = 20_000


@dataclass(frozen=True)
class Latency:
    """Milliseconds, over ``n`` ticks; None without any."""

    median_ms: float | None
    p99_ms: float | None
    n: int


class LatencyMeter:
    """Counts times from 0 to 1 s in bins of 0.05 ms: the answer is the upper edge of a bin."""

    def __init__(self) -> None:
        self._counts = np.zeros(N_BINS, dtype=np.int64)

    def add(self, seconds: float) -> None:
        """Count one time; what is beyond the last bin counts there."""
        place = int(seconds * 1000 / BIN_MS)
        self._counts[min(max(place, 0), N_BINS - 1)] += 1

    def summary(self) -> Latency:
        """Return the median and the 99th percentile of all that was counted."""
        n = int(self._counts.sum())
        if not n:
            return Latency(None, None, 0)
        reached = np.cumsum(self._counts)
        median, p99 = (int(np.searchsorted(reached, share * n)) for share in (0.5, 0.99))
        return Latency((median + 1) * BIN_MS, (p99 + 1) * BIN_MS, n)
