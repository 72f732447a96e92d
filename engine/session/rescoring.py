"""What a recorded session would have earned at other settings: so minutes and days compare."""

from __future__ import annotations

import numpy as np

from engine.lookback.course import Ints
from engine.protocol import Protocol
from engine.reward.criterion import Times
from engine.reward.rate import rate_of
from engine.reward.scan import points_of
from engine.session.recorded_ticks import CourseTicks, moving_mean
from engine.settings import Settings
from engine.signal.grid import Grid


def points_at(ticks: CourseTicks, protocol: Protocol, settings: Settings, grid: Grid) -> Ints:
    """Return the places of the ticks with a point at ``settings`` throughout, (n_points,).

    The hold begins anew with every round. Thresholds are in the protocol's scale.
    """
    if not ticks.running.any():
        return np.empty(0, dtype=np.int64)
    met = ticks.clear & ticks.running
    for i, above in enumerate(protocol.above):
        n = grid.averaged_ticks(settings.averaging_s[i])
        column = moving_mean(ticks.fast_uv[:, i], n, 0, met.shape[0])
        threshold = settings.thresholds_uv[i]
        met &= column >= threshold if above else column <= threshold
    times = Times.of(settings, grid)
    edges = np.diff(ticks.running.astype(np.int8), prepend=0, append=0)
    runs = zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True)
    found = [first + points_of(met[first:last], times) for first, last in runs]
    return np.concatenate(found).astype(np.int64)


def rate_at(ticks: CourseTicks, protocol: Protocol, settings: Settings, grid: Grid) -> float | None:
    """Return points a clear minute of all rounds at ``settings`` throughout; None without any."""
    clear_s = float((ticks.clear & ticks.running).sum()) * grid.tick_s
    n_points = points_at(ticks, protocol, settings, grid).shape[0]
    return rate_of(n_points, clear_s).per_minute
