"""How well the limits that a check proposes find muscle and blinks in what follows.

    python -m tests.benchmarks.study_check REST.edf ... [--channel C4] [--frontal Fp1] [--rounds 5]

Of every recording (and of simulated people, with --simulated) the first ten seconds are rest. A
clench and five blinks are put into copies of the next ten, and the check proposes its limits from
these three. The rest of the recording is then judged with them, clean, and with artifacts put in:

* muscle, in 1-s epochs: clenches (20-100 µV RMS at C4), mild tension (3-10), and, since both of
  those are band noise, trains of motor unit potentials (3-30). Where it is there for half of an
  epoch, 0.2 s of it must be hidden by muscle; in an epoch of the clean recording less.
* blinks of 100-400 µV and 200-400 ms at the frontal channel, about every five seconds: a blink
  is found where it is named within 0.5 s of its end; any other naming is false, but for those of
  the clean recording, which are listed apart: they may be the person's own.

Artifacts go through the recording's own band first: what its makers filtered away is not there
for anybody to find (0.5-45 Hz in some).
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import numpy as np
from scipy import signal

from engine.channels import match_channel
from engine.chunk import Floats, chunk_of, to_microvolts
from engine.configs_folder import find_protocol
from engine.errors import ConfigError
from engine.events import LimitSet, Reason, Tick
from engine.pipeline import Pipeline
from engine.practice.check import HIDDEN_S, CheckKeeper, CheckProposal
from engine.protocol import ClearnessLimits, Protocol, load_protocol
from engine.stream.files import open_recording
from simulators import artifacts
from simulators.person import Person, PersonSettings

CHECK_S = 10.0
Make = Callable[[float, np.random.Generator, str], Floats]


@dataclass(frozen=True, eq=False)
class Two:
    """A trained and a frontal channel, (n_samples, 2), µV, and the band that they hold."""

    name: str
    names: tuple[str, str]
    sfreq: float
    samples: Floats
    top_hz: float


def unit_trains(sfreq: float, rng: np.random.Generator, site: str, rms_uv: float) -> Floats:
    """A second or two of motor units: 3-8 ms potentials of three phases, 8-25 a second each."""
    n = round(sfreq * rng.uniform(0.8, 2.0))
    total = np.zeros(n)
    for _ in range(rng.integers(6, 14)):
        half = max(2, round(sfreq * rng.uniform(0.003, 0.008)))
        t = np.linspace(-2.0, 2.0, 2 * half + 1)
        potential = (1 - 2 * t**2) * np.exp(-(t**2)) * rng.uniform(0.3, 1.0)
        gaps = rng.normal(1 / rng.uniform(8.0, 25.0), 0.01, 60).clip(0.01)
        for onset in (np.cumsum(gaps) * sfreq).astype(int):
            if onset + potential.size < n:
                total[onset : onset + potential.size] += potential
    return np.asarray(total * rms_uv / max(1e-9, float(np.sqrt(np.mean(total**2)))))


MUSCLE: dict[str, Make] = {
    "clench": lambda sfreq, rng, site: artifacts.clench(sfreq, rng, site),
    "tension": lambda sfreq, rng, site: artifacts.jaw_tension(sfreq, rng, site),
    "motor units": lambda sfreq, rng, site: unit_trains(sfreq, rng, site, rng.uniform(3, 30)),
}


def read(path: Path, channel: str, frontal: str) -> Two | None:
    """Read a recording's two channels; None where one is not there."""
    recorded = open_recording(path)
    longest = max(recorded.segments, key=lambda segment: segment.raw.shape[0])
    try:
        places = [match_channel(name, recorded.info.ch_names) for name in (channel, frontal)]
    except ConfigError:
        return None
    samples = to_microvolts(longest.raw, recorded.info.to_uv)[:, places]
    sfreq = recorded.info.sfreq
    changing = np.flatnonzero(np.diff(samples[:, 0]))
    samples = samples[: changing[-1] + 1]
    freqs, psd = signal.welch(samples[:, 0], sfreq, nperseg=round(2 * sfreq))
    held = freqs[psd > 1e-3 * psd[(freqs > 30) & (freqs < 40)].mean()]
    return Two(path.stem, (channel, frontal), sfreq, samples, float(held.max()))


def simulated(seed: int) -> Two:
    """Return three minutes of a simulated person with closed eyes."""
    names = ("C4", "Fp1")
    person = Person(PersonSettings(seed=seed, ch_names=names, eyes="closed", artifacts=False))
    samples = person.read(0, round(180 * person.sfreq))
    return Two(f"simulated {seed}", names, person.sfreq, samples, person.sfreq / 2)


def in_band(wave: Floats, two: Two) -> Floats:
    """Take out of an artifact what the recording cannot hold."""
    if two.top_hz > 0.45 * two.sfreq:
        return wave
    padded = np.pad(wave, round(0.2 * two.sfreq))
    sos = signal.butter(6, two.top_hz, fs=two.sfreq, output="sos")
    return np.asarray(signal.sosfiltfilt(sos, padded))


def judged(
    two: Two, protocol: Protocol, samples: Floats, limits: tuple[tuple[str, float], ...] = ()
) -> tuple[list[Tick], Floats, Pipeline]:
    """Return the ticks of a stretch, and its measures, (n_ticks, 4)."""
    pipeline = Pipeline(protocol, two.names, two.sfreq)
    for key, value in limits:
        pipeline.apply(LimitSet(0, key, value))
    ticks: list[Tick] = []
    rows = []
    cursor = 0
    for first in range(0, samples.shape[0], round(two.sfreq)):
        fed = pipeline.feed(chunk_of(samples[first : first + round(two.sfreq)], (1.0, 1.0)))
        ticks += [item for item in fed if isinstance(item, Tick)]
        since = pipeline.measures.since(cursor)
        cursor = since.cursor
        rows.append(since.samples)
    return ticks, np.concatenate(rows), pipeline


def checked(two: Two, protocol: Protocol, rng: np.random.Generator) -> CheckProposal:
    """Do the three steps of a check on the recording's first twenty seconds."""
    n = round(CHECK_S * two.sfreq)
    rest, second = two.samples[:n], two.samples[n : 2 * n]
    clench, blink = second.copy(), second.copy()
    for place, site in enumerate(two.names):
        held = artifacts.clench(two.sfreq, rng, site, rng.uniform(20, 60), 5.0)
        wave = in_band(held, two)
        clench[:, place] = artifacts.added(clench[:, place], round(1.5 * two.sfreq), wave)
    for number in range(5):
        seed = int(rng.integers(2**31))
        for place, site in enumerate(two.names):
            wave = artifacts.blink(two.sfreq, np.random.default_rng(seed), site)
            onset = round((1.0 + 1.7 * number) * two.sfreq)
            blink[:, place] = artifacts.added(blink[:, place], onset, wave)
    plan = None
    keeper = None
    for what, samples in (("rest", rest), ("clench", clench), ("blink", blink)):
        _, measures, pipeline = judged(two, protocol, samples)
        plan = pipeline.plan
        keeper = keeper or CheckKeeper(plan.signals, plan.n_trained, plan.tick_s, pipeline.limits)
        keeper.add(what, measures[round(1.0 / plan.tick_s) :])
    assert keeper is not None
    return keeper.proposal()


def with_muscle(two: Two, rng: np.random.Generator, make: Make) -> tuple[Floats, Floats]:
    """Return the samples with muscle put in, and how much of each sample's time it is there."""
    dirty = two.samples.copy()
    there = np.zeros(dirty.shape[0])
    at = 3.0
    while at < dirty.shape[0] / two.sfreq - 8.0:
        wave = make(two.sfreq, rng, two.names[0])
        onset = round(at * two.sfreq)
        there[onset : onset + wave.size] = 1.0
        shaped = in_band(wave, two)
        early = (shaped.size - wave.size) // 2
        dirty[:, 0] = artifacts.added(dirty[:, 0], onset - early, shaped)
        at += wave.size / two.sfreq + rng.uniform(3.0, 5.0)
    return dirty, there


def muscle_hits(
    two: Two, protocol: Protocol, limits: tuple[tuple[str, float], ...], samples: Floats
) -> Floats:
    """Return for every whole second whether muscle hides `HIDDEN_S` of it."""
    ticks, _, pipeline = judged(two, protocol, samples, limits)
    counts = np.zeros(int(samples.shape[0] / two.sfreq))
    for tick in ticks:
        if Reason.MUSCLE in tick.reasons and int(tick.time_s) < counts.size:
            counts[int(tick.time_s)] += 1
    return np.asarray(counts >= round(HIDDEN_S / pipeline.plan.tick_s), dtype=np.float64)


def epochs_of(there: Floats, sfreq: float) -> Floats:
    """Return for every whole second the share of it in which muscle is there."""
    n = int(there.size / sfreq)
    edges = [round(i * sfreq) for i in range(n + 1)]
    return np.array([there[a:b].mean() for a, b in pairwise(edges)])


def names_of_blinks(
    two: Two, protocol: Protocol, limits: tuple[tuple[str, float], ...], samples: Floats
) -> list[float]:
    """Return when a blink is first named, every time, seconds."""
    ticks, _, _ = judged(two, protocol, samples, limits)
    found, before = [], False
    for tick in ticks:
        now = Reason.BLINK in tick.reasons
        if now and not before:
            found.append(tick.time_s)
        before = now
    return found


def with_blinks(two: Two, rng: np.random.Generator) -> tuple[Floats, list[tuple[float, float]]]:
    """Return the samples with blinks put in, and (onset, end) of each, seconds."""
    dirty, spans, at = two.samples.copy(), [], 3.0
    while at < dirty.shape[0] / two.sfreq - 2.0:
        seed, size = int(rng.integers(2**31)), 0
        for place, site in enumerate(two.names):
            wave = artifacts.blink(two.sfreq, np.random.default_rng(seed), site)
            size = wave.size
            dirty[:, place] = artifacts.added(dirty[:, place], round(at * two.sfreq), wave)
        spans.append((at, at + size / two.sfreq))
        at += rng.uniform(3.5, 6.5)
    return dirty, spans


def found_and_false(
    spans: list[tuple[float, float]], named: list[float]
) -> tuple[int, list[float]]:
    """Return how many blinks are named, and the namings that belong to none."""
    hit = [any(a <= t <= b + 0.5 for t in named) for a, b in spans]
    return sum(hit), [t for t in named if not any(a <= t <= b + 0.5 for a, b in spans)]


def main() -> None:
    """Print a line a recording and kind, and the sums."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("files", nargs="*", type=Path)
    options.add_argument("--channel", default="C4")
    options.add_argument("--frontal", default="Fp1")
    options.add_argument("--rounds", type=int, default=5)
    options.add_argument("--simulated", type=int, default=0)
    chosen = options.parse_args()
    protocol = load_protocol(find_protocol("smr-up-c4"))
    limits: ClearnessLimits = replace(protocol.clearness, blink_channels=(chosen.frontal,))
    protocol = replace(protocol, site=chosen.channel, clearness=limits)
    sums: dict[str, Floats] = {}
    for seed, two in enumerate(_all(chosen)):
        for number in range(chosen.rounds):
            _study(two, protocol, np.random.default_rng(100 * seed + number), sums)
    for name, row in sums.items():
        if name.startswith("blink"):
            print(
                f"all: {name}: {row[0]:.0f} of {row[1]:.0f} found ({row[0] / row[1]:.3f}), "
                f"false a minute {row[2] / row[4]:.2f}, of them in the clean recording "
                f"{row[3] / row[4]:.2f}"
            )
        else:
            print(
                f"all: {name}: sensitivity {row[0] / row[1]:.3f} ({row[1]:.0f} epochs), "
                f"specificity {1 - row[2] / row[3]:.3f} ({row[3]:.0f} epochs)"
            )


def _all(chosen: argparse.Namespace) -> Iterator[Two]:
    for path in chosen.files:
        two = read(path, chosen.channel, chosen.frontal)
        if two is not None:
            yield two
    for seed in range(chosen.simulated):
        yield simulated(seed)


def _study(two: Two, protocol: Protocol, rng: np.random.Generator, sums: dict[str, Floats]) -> None:
    proposal = checked(two, protocol, rng)
    limits = proposal.accepted
    said = ", ".join(f"{key.split('.')[1]} {value:g}" for key, value in limits)
    skipped = round(2 * CHECK_S)
    later = replace(two, samples=two.samples[round(skipped * two.sfreq) :])
    line = [f"{two.name}: {said or 'nothing proposed'}"]
    clean = muscle_hits(later, protocol, limits, later.samples)[1:]
    for kind, make in MUSCLE.items():
        dirty, there = with_muscle(later, rng, make)
        hits = muscle_hits(later, protocol, limits, dirty)
        share = epochs_of(there, later.sfreq)
        wanted = share >= 0.5
        row = np.array([hits[wanted].sum(), wanted.sum(), clean.sum(), clean.size])
        sums[kind] = sums.get(kind, np.zeros(4)) + row
        line.append(f"{kind} {row[0] / max(1, row[1]):.2f}")
    line.append(f"rest {1 - clean.mean():.2f}")
    dirty, spans = with_blinks(later, rng)
    named = names_of_blinks(later, protocol, limits, dirty)
    own = names_of_blinks(later, protocol, limits, later.samples)
    found, false = found_and_false(spans, named)
    minutes = later.samples.shape[0] / later.sfreq / 60
    row = np.array([found, len(spans), len(false), len(own), minutes])
    for name in ("blinks", f"blinks, {'eyes open' if 'open' in two.name else 'eyes closed'}"):
        sums[name] = sums.get(name, np.zeros(5)) + row
    line.append(f"blinks {found}/{len(spans)}, {len(false)} false, {len(own)} own")
    print("; ".join(line), flush=True)


if __name__ == "__main__":
    main()
