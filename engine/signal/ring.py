"""A ring buffer whose readers own their cursors.

Reading changes nothing in the ring, so any number of readers can follow it; one that falls
behind by more than the ring holds is told how many samples it lost.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from engine.chunk import Floats


class Since(NamedTuple):
    """Samples after a cursor: (n_samples, n_channels), the next cursor, samples overwritten."""

    samples: Floats
    cursor: int
    lost: int


class Ring:
    """The last ``capacity`` samples of (n_samples, n_channels); one writer."""

    def __init__(self, capacity: int, n_channels: int):
        self._data = np.zeros((capacity, n_channels))
        self._written = 0

    @property
    def cursor(self) -> int:
        """Number of samples ever written: the cursor of a reader that wants only the future."""
        return self._written

    def append(self, samples: Floats) -> None:
        """Add (n_samples, n_channels); the oldest samples are overwritten."""
        capacity = self._data.shape[0]
        kept = samples[-capacity:]
        self._written += samples.shape[0]
        start = (self._written - kept.shape[0]) % capacity
        before_the_edge = min(kept.shape[0], capacity - start)
        self._data[start : start + before_the_edge] = kept[:before_the_edge]
        self._data[: kept.shape[0] - before_the_edge] = kept[before_the_edge:]

    def since(self, cursor: int) -> Since:
        """Return a copy of everything written after ``cursor`` that is still there."""
        capacity = self._data.shape[0]
        cursor = min(max(cursor, 0), self._written)
        first = max(cursor, self._written - capacity)
        places = np.arange(first, self._written) % capacity
        return Since(self._data[places], self._written, first - cursor)
