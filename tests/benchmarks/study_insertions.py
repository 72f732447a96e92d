"""Whether artifacts put into recordings are ever paid.

    python -m tests.benchmarks.study_insertions RECORDING.edf ... [--channel C4] [--rounds 3]

Blinks (as at the channel, and as at Fp1), clenches, mild tension, pops and steps, about every
seven seconds. Paid: the dirty signal is ahead of the clean one in points at some moment. Ticks:
how many were clear and met that would not have been without the artifact.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from engine.chunk import Floats, chunk_of
from engine.configs_folder import find_protocol
from engine.events import PointEarned, RoundStart, Tick
from engine.pipeline import Pipeline
from engine.protocol import load_protocol
from engine.reward.scan import Bools
from simulators import artifacts
from tests.benchmarks.recordings import Channel, channels

Make = Callable[[float, np.random.Generator], Floats]

KINDS: dict[str, Make] = {
    "blink": lambda sfreq, rng: artifacts.blink(sfreq, rng, "C4"),
    "blink at Fp1": lambda sfreq, rng: artifacts.blink(sfreq, rng, "Fp1"),
    "clench": artifacts.clench,
    "tension": artifacts.jaw_tension,
    "pop": artifacts.pop,
    "step": artifacts.step,
}
FIRST_S, APART_S = 4.0, 6.0


def insert(person: Channel, rng: np.random.Generator) -> tuple[Floats, int]:
    """Return the samples with artifacts, and how many."""
    sfreq, dirty, count = person.grid.sfreq, person.samples, 0
    at_s = FIRST_S
    while at_s < person.samples.shape[0] / sfreq - APART_S:
        artifact = list(KINDS.values())[rng.integers(len(KINDS))](sfreq, rng)
        dirty = artifacts.added(dirty, int(at_s * sfreq), artifact)
        at_s += artifact.shape[0] / sfreq + APART_S * rng.uniform(0.7, 1.3)
        count += 1
    return dirty, count


def earned(samples: Floats, sfreq: float) -> tuple[Floats, Bools]:
    """Return the ticks of the points, and for every tick whether it was clear and met."""
    protocol = replace(load_protocol(find_protocol("smr-up-c4")), site="C4")
    pipeline = Pipeline(protocol, ("C4",), sfreq)
    pipeline.apply(RoundStart(0))
    outputs = pipeline.feed(chunk_of(samples[:, np.newaxis], (1.0,)))
    points = [item.tick for item in outputs if isinstance(item, PointEarned)]
    met = [not t.reasons and all(t.met) for t in outputs if isinstance(t, Tick)]
    return np.array(points, dtype=float), np.array(met, dtype=bool)


def main() -> None:
    """Print one line a recording and round, and the sum."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("files", nargs="+", type=Path)
    options.add_argument("--channel", default="C4")
    options.add_argument("--rounds", type=int, default=3)
    chosen = options.parse_args()
    sums = np.zeros(3, dtype=int)
    for seed, person in enumerate(channels(chosen.files, chosen.channel)):
        clean, clean_met = earned(person.samples, person.grid.sfreq)
        for number in range(chosen.rounds):
            samples, count = insert(person, np.random.default_rng(100 * seed + number))
            dirty, dirty_met = earned(samples, person.grid.sfreq)
            before = np.searchsorted(clean, dirty, side="right")
            paid = int((np.arange(1, dirty.shape[0] + 1) > before).sum())
            ticks = int((dirty_met & ~clean_met).sum())
            sums += (count, paid, ticks)
            print(f"{person.name}: {count} in, points {len(clean)} and {len(dirty)}, {paid} paid")
    print(f"{sums[0]} inserted, {sums[1]} points ahead of the clean signal, {sums[2]} ticks")


if __name__ == "__main__":
    main()
