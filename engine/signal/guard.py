"""How long a tick stays hidden after the disturbance itself is over.

A filter remembers. After something large has passed, what is left of it in a condition's filter
falls away over one to two seconds; until it is below a tenth of the condition's threshold, the
amplitude is not the brain's. The table is derived from the filters' own responses: a step of the
size limit for whatever broke that limit, white noise of the level seen for muscle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engine.chunk import Floats
from engine.signal.amplitude import Estimator

REST_SHARE = 0.1
"""Share of a threshold below which what is left no longer matters."""


@dataclass(frozen=True, eq=False)
class Tail:
    """What is left of a unit disturbance in one averaged amplitude, by ticks since its end.

    ``step`` for a step of 1 µV, ``noise`` for noise of 1 µV/√Hz; index 0 is the disturbance's
    last tick. Infinite while the average still holds a tick of the disturbance itself.
    """

    step: Floats
    noise: Floats

    def left(self, since_step: int, step_uv: float, since_noise: int, density_uv: float) -> float:
        """Return the microvolts that both disturbances may still add or take."""
        last = self.step.shape[0] - 1
        of_step = self.step[since_step] * step_uv if since_step < last else 0.0
        of_noise = self.noise[since_noise] * density_uv if since_noise < last else 0.0
        return float(of_step + of_noise)


def tail_of(estimator: Estimator, band: int, n_averaged: int) -> Tail:
    """Return the tail of a band's amplitude, averaged over ``n_averaged`` ticks."""
    return Tail(*(_averaged(tail, n_averaged) for tail in estimator.tails(band)))


def _averaged(tail: Floats, n: int) -> Floats:
    padded = np.concatenate([np.full(n - 1, np.inf), tail, np.zeros(n)])
    means = np.convolve(np.where(np.isinf(padded), 0, padded), np.ones(n) / n)[n - 1 :]
    means = means[: tail.shape[0] + n]
    means[:n] = np.inf
    return np.asarray(means)
