"""The two grids of a session: the decimated sampling rate, and the ticks of the criterion."""

from __future__ import annotations

import math
from dataclasses import dataclass

from engine.errors import bad_value

SFREQ_RANGE = (120.0, 4200.0)
"""Accepted sampling rates, Hz: 128 to 4096 nominal, with room for a measured rate."""

_WANTED_HZ = 250.0
_WINDOW_HZ = (200.0, 400.0)
_TICK_S = 0.02


@dataclass(frozen=True)
class Grid:
    """How samples become decimated samples and ticks.

    Attributes
    ----------
    sfreq : Hz, of the stream. factor : integer decimation.
    per_tick : decimated samples a tick; ``block`` samples of the stream make one tick.
    """

    sfreq: float
    factor: int
    per_tick: int

    @property
    def block(self) -> int:
        return self.factor * self.per_tick

    @property
    def sfreq_decimated(self) -> float:
        return self.sfreq / self.factor

    @property
    def tick_s(self) -> float:
        return self.block / self.sfreq

    def ticks(self, time_s: float) -> int:
        """Return how many ticks a time takes: ceil(time / tick - 1e-9)."""
        return max(0, math.ceil(time_s / self.tick_s - 1e-9))

    def averaged_ticks(self, averaging_s: float) -> int:
        """Return how many ticks an averaging takes the mean of: at least the newest one."""
        return max(1, self.ticks(averaging_s))

    def hold_ticks(self, hold_s: float) -> int:
        """Return N, the unbroken met ticks that earn a point."""
        return max(1, self.ticks(hold_s))


def grid_for(sfreq: float) -> Grid:
    """Return the grid of a sampling rate; ConfigError outside 128-4096 Hz.

    The factor is the one that lands nearest 250 Hz within 200-400 Hz (rates below 200 Hz are
    left as they are), the tick the whole number of decimated samples nearest 20 ms; ties go to
    the smaller.
    """
    low, high = SFREQ_RANGE
    if not (math.isfinite(sfreq) and low <= sfreq <= high):
        raise bad_value(
            "sampling rate (Hz)", sfreq, "128 to 4096", "set the amplifier to a rate in between"
        )
    factors = [
        q
        for q in range(1, math.ceil(sfreq / _WINDOW_HZ[0]) + 1)
        if _WINDOW_HZ[0] <= sfreq / q <= _WINDOW_HZ[1]
    ]
    factor = min(factors, key=lambda q: (abs(sfreq / q - _WANTED_HZ), q), default=1)
    exact = _TICK_S * sfreq / factor
    below = max(1, math.floor(exact))
    per_tick = below if exact - below <= below + 1 - exact else below + 1
    return Grid(sfreq, factor, per_tick)
