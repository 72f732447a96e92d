"""How often a trend over sessions is found where there is none, and where there is one.

Run with `python -m tests.benchmarks.study_trend`; three minutes. The table is in the docstring of
`engine.lookback.trend`. Ordinary least squares stands beside it.
"""

from __future__ import annotations

import numpy as np
from scipy import stats

from engine.lookback.change import FALL, RISE, line
from engine.lookback.trend import FEWEST_SESSIONS
from tests.benchmarks.study_change import noise

N_RUNS = 600
RISE_SD = 3.0
"""From the first session to the last, in standard deviations of a session."""


def found(n: int, rho: float, rise_sd: float, seed: int = 1) -> tuple[float, float]:
    """Return how often the trend and ordinary least squares find one, in per cent."""
    rng = np.random.default_rng([seed, n, round(rho * 100)])
    index = np.arange(n)
    ours = theirs = 0
    for _ in range(N_RUNS):
        values = noise(rng, n, rho, 0.0) + rise_sd * index / (n - 1)
        ours += line(values, index, FEWEST_SESSIONS).verdict in (RISE, FALL)
        theirs += stats.linregress(index, values).pvalue < 0.05
    return 100 * ours / N_RUNS, 100 * theirs / N_RUNS


def main() -> None:
    for rise_sd in (0.0, RISE_SD):
        print(f"\nfound in per cent (ordinary least squares) of a rise of {rise_sd:g} sd")
        for n in (8, 12, 20, 30):
            each = [found(n, rho, rise_sd) for rho in (0.0, 0.2, 0.4, 0.6)]
            print(f"{n:3d}  " + "  ".join(f"{a:5.1f} ({b:4.1f})" for a, b in each))


if __name__ == "__main__":
    main()
