"""The recent amplitudes that a forecast is made from: each tick of the last minutes of training."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Floats
from engine.events import State, Tick
from engine.signal.ring import Ring

LONGEST_S = 180.0


def moving_means(rows: Floats, n_ticks: tuple[int, ...]) -> Floats:
    """Return the mean of each row and those before it, (n_rows, n_columns), n of them a column.

    The first n - 1 rows of a column are NaN.
    """
    sums = np.cumsum(np.vstack([np.zeros((1, rows.shape[1])), rows]), axis=0)
    means = np.full(rows.shape, np.nan)
    for i, n in enumerate(n_ticks):
        means[n - 1 :, i] = (sums[n:, i] - sums[:-n, i]) / n
    return means


@dataclass(frozen=True, eq=False)
class Window:
    """Consecutive ticks.

    Attributes
    ----------
    fast_uv : (n_ticks, n_conditions), amplitudes before averaging, in the protocol's scale.
    clear : (n_ticks,), whether the signal could be rewarded.
    """

    fast_uv: Floats
    clear: NDArray[np.bool_]
    tick_s: float

    @property
    def clear_s(self) -> float:
        return float(self.clear.sum()) * self.tick_s

    def averaged(self, n_ticks: tuple[int, ...]) -> Floats:
        """Return the moving means, (n_ticks, n_conditions), each over its own number of ticks.

        The first n - 1 of each are NaN, which no threshold is met by.
        """
        return moving_means(self.fast_uv, n_ticks)

    def last_clear(self, seconds: float) -> Window:
        """Return the last ticks that hold ``seconds`` of clear time, or all where there is less."""
        clear_after = np.cumsum(self.clear[::-1])
        n = int(np.searchsorted(clear_after, round(seconds / self.tick_s))) + 1
        start = max(0, self.clear.shape[0] - n)
        return Window(self.fast_uv[start:], self.clear[start:], self.tick_s)


class Recent:
    """Gathers the ticks of rounds, at most the last ``longest_s`` of them."""

    def __init__(self, tick_s: float, n_conditions: int, longest_s: float = LONGEST_S):
        self._tick_s = tick_s
        self._rows = Ring(round(longest_s / tick_s), n_conditions + 1)

    def add(self, item: object) -> None:
        """Take one output of the pipeline; ticks outside a round are passed over."""
        if isinstance(item, Tick) and item.state is not State.STOPPED:
            clear = item.state is not State.OBSCURED
            self._rows.append(np.array([[*item.fast_uv, clear]]))

    def window(self) -> Window:
        """Return what was gathered."""
        rows = self._rows.since(0).samples
        return Window(rows[:, :-1], rows[:, -1] > 0, self._tick_s)
