"""The criterion over a whole window at once: the same points, for many settings, by run lengths.

`engine.reward.criterion` takes one tick at a time; here a window of ticks is known, and a point
can only fall where the last N ticks are all met and begin after the last quiet time. The last N
ticks are met for two conditions together where they are for each: so a grid of two thresholds
needs two tables and not one a cell, and is walked from point to point, all cells together. A
property test holds every cell equal to the machine itself.
"""

from __future__ import annotations

from bisect import bisect_left

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Floats
from engine.reward.criterion import Times

Bools = NDArray[np.bool_]
Ints = NDArray[np.int32]


def last_unmet(met: Bools) -> Ints:
    """Return the index of the last unmet tick at or before each tick, -1 where none; any (…, T)."""
    n_ticks = met.shape[-1]
    ticks = np.arange(n_ticks, dtype=np.int32)
    return np.asarray(np.maximum.accumulate(np.where(met, np.int32(-1), ticks), axis=-1))


def points_of(met: Bools, times: Times) -> NDArray[np.intp]:
    """Return the ticks, in order, at which points fall in a window of met ticks (T,).

    The window begins with nothing held and no quiet time running; obscured ticks are unmet.
    """
    held = np.arange(met.shape[0]) - last_unmet(met)
    ready = np.flatnonzero(held >= times.n_hold).tolist()
    found: list[int] = []
    earliest = 0
    while True:
        place = bisect_left(ready, earliest + times.n_hold - 1)
        if place == len(ready):
            return np.array(found, dtype=np.intp)
        found.append(ready[place])
        earliest = found[-1] + 1 + times.n_quiet


def count_grid(first: Bools, second: Bools, others: Bools, times: Times) -> NDArray[np.int32]:
    """Count the points of every pair of settings of two conditions.

    Parameters
    ----------
    first, second : (n_first, T) and (n_second, T), where each setting of a condition is met.
    others : (T,), clear ticks at which every other condition is met.

    Returns
    -------
    counts : (n_first, n_second).
    """
    shape = (first.shape[0], second.shape[0])
    n_ready = others.shape[0] - times.n_hold + 1
    if n_ready < 1:
        return np.zeros(shape, dtype=np.int32)
    begun = np.arange(n_ready, dtype=np.int32) - 1
    of_first = last_unmet(first & others)[:, times.n_hold - 1 :] <= begun
    of_second = last_unmet(second)[:, times.n_hold - 1 :] <= begun
    ready = of_first[:, np.newaxis] & of_second[np.newaxis]
    places = np.append(np.flatnonzero(ready), ready.size)
    counts = np.zeros(shape[0] * shape[1], dtype=np.int32)
    cells = np.arange(counts.shape[0])
    wanted = cells * n_ready
    while cells.shape[0]:
        fell = places[np.searchsorted(places, np.minimum(wanted, ready.size))]
        given = fell < (cells + 1) * n_ready
        cells = cells[given]
        counts[cells] += 1
        wanted = fell[given] + times.n_quiet + times.n_hold
    return counts.reshape(shape)


def met_at(amplitudes_uv: Floats, thresholds_uv: Floats, above: bool) -> Bools:
    """Return where an amplitude (T,) satisfies each threshold (n,): (n, T)."""
    if above:
        return np.asarray(amplitudes_uv[np.newaxis] >= thresholds_uv[:, np.newaxis])
    return np.asarray(amplitudes_uv[np.newaxis] <= thresholds_uv[:, np.newaxis])
