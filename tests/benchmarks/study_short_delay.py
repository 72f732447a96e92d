"""Whether a learned predictor follows the envelope sooner than the linear filters do.

    python -m tests.benchmarks.study_short_delay RECORDING.edf ... [--channel C4]

Ridge regression from the amplitudes of filters of five delays, their past second, and in a
second form their logarithms too, to the zero-phase envelope; trained on all people but one and
tried on that one. Correlation at a fixed short delay, median, beside the best single filter.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from engine.chunk import Floats
from engine.signal.amplitude import analytic_fir
from engine.signal.design import BandGoal
from tests.benchmarks.recordings import BANDS, Channel, butterworth_envelope, channels, live

DELAYS_S = (0.04, 0.08, 0.12, 0.16, 0.2)
WANTED_S = {"theta": 0.08, "SMR": 0.08, "high beta": 0.03}
PAST_TICKS = (0, 1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 50)
RIDGE = 1e-2


def example(person: Channel, band: str) -> tuple[Floats, Floats]:
    """Return amplitudes now and before, (n_ticks, n_features), and the envelope that was."""
    low, high = BANDS[band]
    goals = tuple(BandGoal(low, high, delay_s) for delay_s in DELAYS_S)
    now = live(analytic_fir(person.grid, goals), person.samples)
    envelope = butterworth_envelope(person.samples, person.grid.sfreq, low, high)
    ends = np.arange(1, len(now) + 1) * person.grid.block - 1
    then = np.maximum(ends - round(WANTED_S[band] * person.grid.sfreq), 0)
    past = np.concatenate([np.roll(now, n, axis=0) for n in PAST_TICKS], axis=1)
    settled = slice(150, len(now) - 100)
    size = np.median(envelope)
    return past[settled] / size, envelope[then][settled] / size


def features(amplitudes: Floats, logarithms: bool) -> Floats:
    """Return the features of the regression, a constant first."""
    parts = [np.ones((len(amplitudes), 1)), amplitudes]
    return np.concatenate([*parts, np.log(amplitudes + 0.05)] if logarithms else parts, axis=1)


def tried(examples: list[tuple[Floats, Floats]], k: int, logarithms: bool) -> float:
    """Return the correlation on person ``k`` of a predictor trained on all others."""
    others = [e for j, e in enumerate(examples) if j != k]
    known = features(np.concatenate([e[0] for e in others]), logarithms)
    target = np.concatenate([e[1] for e in others])
    square = known.T @ known + RIDGE * len(known) * np.eye(known.shape[1])
    weights = np.linalg.solve(square, known.T @ target)
    predicted = features(examples[k][0], logarithms) @ weights
    return float(np.corrcoef(predicted, examples[k][1])[0, 1])


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("files", nargs="+", type=Path)
    options.add_argument("--channel", default="C4")
    chosen = options.parse_args()
    people = channels(chosen.files, chosen.channel)
    print(f"{len(people)} recordings; correlation, median: best single filter, ridge, with logs")
    for band, delay_s in WANTED_S.items():
        examples = [example(person, band) for person in people]
        rows = []
        for k, (amplitudes, envelope) in enumerate(examples):
            single = max(
                np.corrcoef(amplitudes[:, i], envelope)[0, 1] for i in range(len(DELAYS_S))
            )
            rows.append((single, tried(examples, k, False), tried(examples, k, True)))
        single, plain, logs = np.median(rows, axis=0)
        print(f"{band:<10} at {delay_s * 1000:3.0f} ms {single:7.3f} {plain:7.3f} {logs:7.3f}")


if __name__ == "__main__":
    main()
