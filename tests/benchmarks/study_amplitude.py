"""How well the live amplitude follows the zero-phase one, and how late.

    python -m tests.benchmarks.study_amplitude RECORDING.edf ... [--channel C4]

For each band and estimator: the correlation with the zero-phase envelope at its best lag, and
that lag; median over the recordings. The first minute is left out.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from engine.chunk import Floats
from engine.signal.amplitude import Estimator, analytic_fir
from engine.signal.butterworth import butterworth
from engine.signal.design import BandGoal
from tests.benchmarks.recordings import BANDS, REFERENCES, Channel, channels, live

SKIP_S = 60.0
LAGS_S = np.arange(0.0, 0.5, 0.004)


def best_lag(amplitude: Floats, envelope: Floats, channel: Channel) -> tuple[float, float]:
    """Return (correlation, lag in seconds) of tick amplitudes with a sampled envelope."""
    grid = channel.grid
    ends = np.arange(1, amplitude.shape[0] + 1) * grid.block - 1
    used = (ends > SKIP_S * grid.sfreq) & (ends < channel.samples.shape[0] - 2 * grid.sfreq)
    results = []
    for lag in LAGS_S:
        then = ends[used] - round(lag * grid.sfreq)
        results.append(np.corrcoef(amplitude[used], envelope[then])[0, 1])
    best = int(np.argmax(results))
    return results[best], float(LAGS_S[best])


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("files", nargs="+", type=Path)
    options.add_argument("--channel", default="C4")
    chosen = options.parse_args()
    people = channels(chosen.files, chosen.channel)
    print(f"{len(people)} recordings, {chosen.channel}; correlation @ lag, median")
    print("band       estimator              " + "".join(f"{name:>18}" for name in REFERENCES))
    for band, (low, high) in BANDS.items():
        for label, delay_s in (
            ("analytic-fir 200 ms", 0.2),
            ("analytic-fir 150 ms", 0.15),
            ("butterworth", 0.0),
        ):
            row = f"{band:<11}{label:<23}"
            for envelope_of in REFERENCES.values():
                results = []
                for person in people:
                    goal = (BandGoal(low, high, delay_s or 0.2),)
                    estimator: Estimator = (
                        analytic_fir(person.grid, goal)
                        if delay_s
                        else butterworth(person.grid, goal)
                    )
                    amplitude = live(estimator, person.samples)[:, 0]
                    envelope = envelope_of(person.samples, person.grid.sfreq, low, high)
                    results.append(best_lag(amplitude, envelope, person))
                r, lag = np.median(results, axis=0)
                row += f"{r:>10.3f} @{lag * 1000:4.0f} ms"
            print(row, flush=True)


if __name__ == "__main__":
    main()
