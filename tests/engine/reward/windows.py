"""Windows of ticks with known rates, for the tests of what is made from them."""

from __future__ import annotations

import numpy as np

from engine.reward.recent import Window
from engine.settings import Settings
from engine.signal.grid import Grid, grid_for

GRID: Grid = grid_for(250.0)
BANDS = ("theta", "smr")
ABOVE = (False, True)
STEPS = {"theta.threshold": 0.2, "smr.threshold": 0.1, "hold": 0.05, "quiet": 0.1}


def settings(theta: float = 7.0, smr: float = 3.0, hold_s: float = 0.5) -> Settings:
    return Settings(BANDS, (theta, smr), (0.0, 0.0), hold_s, 1.0)


def wandering(seed: int, seconds: float, hidden: float = 0.0) -> Window:
    """Amplitudes of about 5 and 3 µV that wander, with a share of the ticks hidden in stretches."""
    rng = np.random.default_rng(seed)
    n_ticks = round(seconds / GRID.tick_s)
    noise = rng.normal(size=(n_ticks + 24, 2, 2))
    kernel = np.hanning(25)[:, np.newaxis, np.newaxis]
    smooth = np.stack([(noise[i : i + 25] * kernel).sum(axis=0) for i in range(n_ticks)])
    fast = np.hypot(smooth[:, :, 0], smooth[:, :, 1]) * np.array([1.1, 0.7])
    clear = np.repeat(rng.random(n_ticks // 50 + 1) >= hidden, 50)[:n_ticks]
    return Window(fast, clear, GRID.tick_s)


def always_met(seconds: float) -> Window:
    """Everything is met at every tick: points come at the ceiling."""
    n_ticks = round(seconds / GRID.tick_s)
    return Window(np.tile([1.0, 9.0], (n_ticks, 1)), np.ones(n_ticks, bool), GRID.tick_s)
