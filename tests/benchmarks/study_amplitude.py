"""How well the live amplitude follows the zero-phase one, and how late.

    python -m tests.benchmarks.study_amplitude RECORDING.edf ... [--channel C4] [--picture OUT.png]

For each band and estimator: the correlation with the zero-phase envelope at its best lag, and
that lag; median over the recordings, and how many of them do better than the band-pass with its
RMS. Filters that know the client are designed on the first minute, which is left out of the
comparison for all. The last row of a band, the same design without a floor, is the linear bound:
unsafe, since it passes whatever the first minute did not hold.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy import signal

from engine.chunk import Floats
from engine.signal.amplitude import Estimator, analytic_fir, design_fir
from engine.signal.butterworth import butterworth
from engine.signal.design import BandGoal
from engine.signal.tuned import tuned
from tests.benchmarks.recordings import BANDS, REFERENCES, Channel, channels, decimated, live

SKIP_S = 60.0
LAGS_S = np.arange(0.0, 0.5, 0.004)
OWN_DELAYS_S = {"theta": 0.14, "SMR": 0.19, "high beta": 0.055}
SHARED_DELAY_S = 0.2

Design = Callable[[Channel, BandGoal], Estimator]


def first_minute(person: Channel) -> list[Floats]:
    """Return the decimated samples that a tuned filter may know."""
    return [decimated(person.samples[: round(SKIP_S * person.grid.sfreq)], person.grid)]


def unsafe(person: Channel, goal: BandGoal) -> Estimator:
    """Design with the client's spectrum alone, all the way up: the linear bound."""
    sfreq = person.grid.sfreq_decimated
    freqs, power = signal.welch(first_minute(person)[0], sfreq, nperseg=round(2 * sfreq))
    floor = 1e-6 * power.max()
    return design_fir(
        person.grid, (goal,), lambda hertz: np.interp(np.abs(hertz), freqs, power) + floor
    )


DESIGNS: dict[str, Design] = {
    "butterworth": lambda person, goal: butterworth(person.grid, (goal,)),
    "analytic-fir": lambda person, goal: analytic_fir(person.grid, (goal,)),
    "tuned": lambda person, goal: tuned(person.grid, (goal,), first_minute(person)),
    "no floor": unsafe,
}


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


def results_of(people: list[Channel], goal: BandGoal, design: Design) -> dict[str, Floats]:
    """Return for each reference (n_people, 2): correlation and lag."""
    found: dict[str, list[tuple[float, float]]] = {name: [] for name in REFERENCES}
    for person in people:
        amplitude = live(design(person, goal), person.samples)[:, 0]
        for name, envelope_of in REFERENCES.items():
            sfreq = person.grid.sfreq
            envelope = envelope_of(person.samples, sfreq, goal.low_hz, goal.high_hz)
            found[name].append(best_lag(amplitude, envelope, person))
    return {name: np.array(rows) for name, rows in found.items()}


def draw(rows: list[tuple[str, str, dict[str, Floats]]], path: Path) -> None:
    """Draw correlation against lag, one mark a row, for the first reference (matplotlib)."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(10, 4), layout="constrained")
    panels = figure.subplots(1, len(BANDS), sharey=True)
    reference = next(iter(REFERENCES))
    for axes, band in zip(panels, BANDS, strict=True):
        for of_band, label, found in rows:
            if of_band == band:
                r, lag = np.median(found[reference], axis=0)
                axes.plot(lag * 1000, r, "o")
                axes.annotate(label, (lag * 1000, r), fontsize=7, rotation=20)
        axes.set_title(band)
        axes.set_xlabel("lag, ms")
    panels[0].set_ylabel(f"correlation with the zero-phase envelope ({reference})")
    figure.savefig(path, dpi=120)


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("files", nargs="+", type=Path)
    options.add_argument("--channel", default="C4")
    options.add_argument("--picture", type=Path)
    chosen = options.parse_args()
    people = channels(chosen.files, chosen.channel)
    print(f"{len(people)} recordings, {chosen.channel}; correlation @ lag: medians; +: better than")
    print("butterworth in so many people, by the first reference")
    print(
        "band       estimator             " + "".join(f"{name:>18}" for name in REFERENCES) + "  +"
    )
    rows = []
    for band, (low, high) in BANDS.items():
        plain: Floats | None = None
        for delay_s in dict.fromkeys((SHARED_DELAY_S, OWN_DELAYS_S[band])):
            goal = BandGoal(low, high, delay_s)
            for name, design in DESIGNS.items():
                if name == "butterworth" and plain is not None:
                    continue
                found = results_of(people, goal, design)
                correlations = next(iter(found.values()))[:, 0]
                plain = correlations if plain is None else plain
                label = name if name == "butterworth" else f"{name} {delay_s * 1000:.0f} ms"
                medians = [np.median(values, axis=0) for values in found.values()]
                row = "".join(f"{r:>10.3f} @{lag * 1000:4.0f} ms" for r, lag in medians)
                print(f"{band:<11}{label:<22}{row}  {(correlations > plain).sum()}", flush=True)
                rows.append((band, label, found))
    if chosen.picture:
        draw(rows, chosen.picture)


if __name__ == "__main__":
    main()
