"""Whether the points given live are those that the zero-phase envelope would earn.

    python -m tests.benchmarks.study_points RECORDING.edf ... [--channel C4]

Thresholds are set so that SMR is met 60 % of the time, theta 80 %, high beta 90 %, each estimator
by its own amplitudes; hold 0.5 s, quiet time 1 s. The truth is the zero-phase envelope under the
same averaging, centred. Found: share of true points with a live one within 0.3 s, at the best
lag; false: share of live points without a true one. Median over the recordings. The default
averaging and delay of the protocols follow from this table.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path

import numpy as np

from engine.chunk import Floats
from engine.reward.agreement import agreement
from engine.reward.criterion import CriterionState, Times, step
from engine.reward.recent import moving_means
from engine.signal.amplitude import Estimator, analytic_fir
from engine.signal.butterworth import butterworth
from engine.signal.design import BandGoal
from engine.signal.grid import Grid
from tests.benchmarks.recordings import BANDS, REFERENCES, Channel, channels, live

MET = {"theta": 0.8, "SMR": 0.6, "high beta": 0.9}
REWARDED = {"SMR"}
HOLD_S, QUIET_S, SKIP_S = 0.5, 1.0, 3.0


def points(rows: Floats, grid: Grid) -> Floats:
    """Return the onsets, seconds, that averaged amplitudes (n_ticks, n_bands) earn."""
    first = round(SKIP_S / grid.tick_s)
    met = np.ones(rows.shape[0], dtype=bool)
    for i, band in enumerate(BANDS):
        share = 1 - MET[band] if band in REWARDED else MET[band]
        threshold = np.nanquantile(rows[first:, i], share)
        met &= (rows[:, i] >= threshold) if band in REWARDED else (rows[:, i] <= threshold)
    state, times = CriterionState(), Times(grid.ticks(HOLD_S), grid.ticks(QUIET_S))
    onsets = []
    for tick in range(first, rows.shape[0]):
        state, verdict = step(state, times, running=True, obscured=False, met=bool(met[tick]))
        if verdict.point:
            onsets.append(tick * grid.tick_s)
    return np.array(onsets)


def row_of(
    estimator: Estimator, n: int, person: Channel, truth: Floats
) -> tuple[float, float, float, float]:
    """Return (found, false, lag, points a minute) of one person."""
    amplitudes = moving_means(live(estimator, person.samples), (n,) * len(BANDS))
    half = (n - 1) // 2
    centred = moving_means(truth, (n,) * len(BANDS))[half:]
    end = min(centred.shape[0], amplitudes.shape[0]) - round(1 / person.grid.tick_s)
    given = points(amplitudes[:end], person.grid)
    minutes = (end * person.grid.tick_s - SKIP_S) / 60
    return (*agreement(given, points(centred[:end], person.grid)), given.size / minutes)


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("files", nargs="+", type=Path)
    options.add_argument("--channel", default="C4")
    chosen = options.parse_args()
    people = channels(chosen.files, chosen.channel)
    print(
        f"{len(people)} recordings, {chosen.channel}; found, false, lag, points a minute: medians"
    )
    print("estimator     delay  averaging" + "".join(f"{name:>28}" for name in REFERENCES))
    truths = {
        name: [_truth(person, envelope_of) for person in people]
        for name, envelope_of in REFERENCES.items()
    }
    cases = [("analytic-fir", 0.2, a) for a in (0.0, 0.12, 0.24, 0.32, 0.4)]
    cases += [("analytic-fir", 0.15, 0.24), ("analytic-fir", 0.25, 0.24), ("butterworth", 0.2, 0.0)]
    for name, delay_s, averaging_s in cases:
        row = f"{name:<13}{delay_s * 1000:4.0f} ms{averaging_s * 1000:8.0f} ms"
        for reference in REFERENCES:
            results = []
            for person, truth in zip(people, truths[reference], strict=True):
                goals = tuple(BandGoal(low, high, delay_s) for low, high in BANDS.values())
                design = analytic_fir if name == "analytic-fir" else butterworth
                n = max(1, person.grid.ticks(averaging_s))
                results.append(row_of(design(person.grid, goals), n, person, truth))
            found, false, lag, rate = np.median(results, axis=0)
            row += f"{found:>10.2f} {false:5.2f} {lag * 1000:4.0f} ms{rate:5.1f}"
        print(row, flush=True)


def _truth(person: Channel, envelope_of: Callable[..., Floats]) -> Floats:
    sfreq = person.grid.sfreq
    envelopes = [envelope_of(person.samples, sfreq, low, high) for low, high in BANDS.values()]
    return np.stack(envelopes, axis=1)[person.grid.block - 1 :: person.grid.block]


if __name__ == "__main__":
    main()
