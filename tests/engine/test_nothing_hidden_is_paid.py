"""A thousand seeded artifacts: none may earn a point that the clean signal would not have earned.

Simulated EEG is scored clean, and again with an artifact every few seconds. Each insertion is then
judged by itself, since over a whole run the points lost to one artifact would hide those won by
another. A tick is *unjust* when the spoilt signal could be rewarded at it and the clean one could
not, even with every threshold eased by a tenth (the share that the guard lets pass: DESIGN of the
guard in ``engine.signal.guard``). An insertion is *paid* when the clean run with its unjust ticks
as met ones is ever ahead of the clean run, at any tick, from the same state of the criterion on.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
import pytest
from numpy.typing import NDArray

from engine.chunk import Floats
from engine.events import RoundStart, Tick
from engine.pipeline import Pipeline
from engine.protocol import Protocol, with_settings
from engine.reward import criterion
from engine.reward.criterion import CriterionState, Times
from engine.signal.guard import REST_SHARE
from simulators import artifacts
from simulators.eeg import Eeg
from tests.engine.signals import smr_protocol, through, ticks_of

LENGTH_S = 250.0
PAUSE_S = (2.5, 4.0)
"""From the end of one artifact to the onset of the next: longer than most guards at C4."""

AFTER_TICKS = 250
"""So long the criterion is followed after the next onset, on clean ticks."""

Maker = Callable[[float, np.random.Generator], Floats]
KINDS: dict[str, Maker] = {
    "blink": lambda sfreq, rng: artifacts.blink(sfreq, rng, "C4"),
    "frontal blink": lambda sfreq, rng: artifacts.blink(sfreq, rng, "Fp1"),
    "clench": lambda sfreq, rng: artifacts.clench(sfreq, rng),
    "tension": lambda sfreq, rng: artifacts.jaw_tension(sfreq, rng),
    "pop": lambda sfreq, rng: artifacts.pop(sfreq, rng),
    "step": lambda sfreq, rng: artifacts.step(sfreq, rng, duration_s=0.1),
}

FULL = with_settings(
    smr_protocol(), {"theta.threshold": 8.0, "smr.threshold": 1.5, "high_beta.threshold": 3.4}
)
"""The simulated client's SMR is met 60 %, theta 80 %, high beta 90 % of the time."""

SMR_ALONE = replace(
    smr_protocol(), conditions=(replace(smr_protocol().conditions[1], threshold_uv=2.0),)
)
"""No inhibit band breaks a hold: only hiding stands between an artifact and a point."""

HIGH_BETA_UP = replace(
    smr_protocol(),
    conditions=(replace(smr_protocol().conditions[2], direction="above", threshold_uv=2.2),),
    clearness=replace(smr_protocol().clearness, muscle_uv=4.0),
)
"""The band that muscle pays best, rewarded alone: its protocol must look for muscle closely."""

RUNS = [
    (250, 1, FULL),
    (250, 2, SMR_ALONE),
    (250, 3, HIGH_BETA_UP),
    (500, 4, HIGH_BETA_UP),
    (128, 5, SMR_ALONE),
    (160, 6, FULL),
]
"""Sampling rate, seed and protocol of each clean signal, spoilt `TIMES_SPOILT` times anew."""

TIMES_SPOILT = 3


@dataclass(frozen=True)
class Insertion:
    """``onset`` and ``until`` are ticks: this one's first, and the next one's."""

    kind: str
    onset: int
    until: int


@dataclass
class Outcome:
    """How often each kind was inserted, was paid, and would be if nothing were ever hidden."""

    inserted: dict[str, int] = field(default_factory=lambda: dict.fromkeys(KINDS, 0))
    paid: dict[str, int] = field(default_factory=lambda: dict.fromkeys(KINDS, 0))
    paid_unhidden: dict[str, int] = field(default_factory=lambda: dict.fromkeys(KINDS, 0))
    rates: list[float] = field(default_factory=list)


def scored(
    signal: Floats, sfreq: int, ch_names: tuple[str, ...], protocol: Protocol
) -> tuple[Pipeline, list[Tick]]:
    pipeline = Pipeline(protocol, ch_names, sfreq)
    return pipeline, ticks_of(through(pipeline, signal, inputs=[RoundStart(0)]))


def spoilt(
    clean: Floats, sfreq: int, block: int, rng: np.random.Generator, kinds: dict[str, list[Maker]]
) -> tuple[Floats, list[Insertion]]:
    """Return the signal with an artifact every few seconds, and where.

    ``kinds`` holds a maker a channel; all channels of one artifact are drawn alike.
    """
    signal, onsets, names = clean.copy(), [], []
    at = round(5.0 * sfreq)
    while at < clean.shape[0] - 9 * sfreq:
        name, draw = list(kinds)[rng.integers(len(kinds))], rng.integers(2**32)
        for channel, make in enumerate(kinds[name]):
            artifact = make(sfreq, np.random.default_rng(draw))
            signal[:, channel] = artifacts.added(signal[:, channel], at, artifact)
        onsets.append(at // block)
        names.append(name)
        at += artifact.size + round(rng.uniform(*PAUSE_S) * sfreq)
    ends = [*onsets[1:], at // block]
    return signal, [Insertion(*place) for place in zip(names, onsets, ends, strict=True)]


def rewardable(
    ticks: list[Tick], protocol: Protocol, ease: float = 0.0, hiding: bool = True
) -> NDArray[np.bool_]:
    """Return, for each tick, whether it could count towards a hold."""
    amplitudes = np.array([tick.amplitudes_uv for tick in ticks])
    thresholds = np.array(protocol.settings.thresholds_uv)
    above = np.array(protocol.above)
    met = np.where(
        above, amplitudes >= thresholds * (1 - ease), amplitudes <= thresholds * (1 + ease)
    ).all(axis=1)
    hidden = np.array([bool(tick.reasons) for tick in ticks]) & hiding
    return np.asarray(met & ~hidden)


def earned(flags: NDArray[np.bool_], times: Times, state: CriterionState) -> NDArray[np.int_]:
    """Return how many points have been earned by each tick, from a state of the criterion on."""
    points = []
    for met in flags.tolist():
        state, verdict = criterion.step(state, times, running=True, obscured=False, met=met)
        points.append(verdict.point)
    return np.cumsum(points)


def states(flags: NDArray[np.bool_], times: Times) -> list[CriterionState]:
    """Return the state of the criterion before each tick."""
    course = [CriterionState()]
    for met in flags.tolist():
        after, _ = criterion.step(course[-1], times, running=True, obscured=False, met=met)
        course.append(after)
    return course


def judge(
    outcome: Outcome,
    sfreq: int,
    seed: int,
    ch_names: tuple[str, ...],
    kinds: dict[str, list[Maker]],
    protocol: Protocol,
) -> None:
    """Spoil one clean signal several times over, and add up what each insertion came to."""
    signal = Eeg(sfreq, ch_names, seed=seed).read(0, round(LENGTH_S * sfreq))
    pipeline, clean = scored(signal, sfreq, ch_names, protocol)
    grid, settings = pipeline.plan.grid, pipeline.settings
    times = Times(grid.hold_ticks(settings.hold_s), grid.ticks(settings.quiet_s))
    just, eased = rewardable(clean, protocol), rewardable(clean, protocol, ease=REST_SHARE)
    before = states(just, times)
    outcome.rates.append(float(earned(just, times, before[0])[-1]) / LENGTH_S * 60)
    for run in range(TIMES_SPOILT):
        rng = np.random.default_rng((sfreq, seed, run))
        dirty_signal, insertions = spoilt(signal, sfreq, grid.block, rng, kinds)
        _, dirty = scored(dirty_signal, sfreq, ch_names, protocol)
        for paid, flags in (
            (outcome.paid, rewardable(dirty, protocol)),
            (outcome.paid_unhidden, rewardable(dirty, protocol, hiding=False)),
        ):
            unjust = flags & ~eased
            for where in insertions:
                stop = where.until + AFTER_TICKS
                alone = just[where.onset : stop].copy()
                alone[: where.until - where.onset] |= unjust[where.onset : where.until]
                ahead = earned(alone, times, before[where.onset]) - earned(
                    just[where.onset : stop], times, before[where.onset]
                )
                paid[where.kind] += bool(ahead.max() > 0)
        for where in insertions:
            outcome.inserted[where.kind] += 1


@pytest.fixture(scope="module")
def at_c4_alone() -> Outcome:
    outcome = Outcome()
    kinds = {name: [make] for name, make in KINDS.items()}
    for sfreq, seed, protocol in RUNS:
        judge(outcome, sfreq, seed, ("C4",), kinds, protocol)
    return outcome


@pytest.fixture(scope="module")
def with_fp1_watched() -> Outcome:
    outcome = Outcome()
    makers = [KINDS["blink"], KINDS["frontal blink"]]
    judge(outcome, 250, 7, ("C4", "Fp1"), {"blink": makers}, FULL)
    return outcome


def test_a_thousand_artifacts_were_put_into_signals_that_earn_points(at_c4_alone: Outcome) -> None:
    assert sum(at_c4_alone.inserted.values()) >= 1000
    assert min(at_c4_alone.inserted.values()) >= 100
    assert min(at_c4_alone.rates) > 10


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "blink"])
def test_what_is_hidden_is_never_paid(at_c4_alone: Outcome, kind: str) -> None:
    assert at_c4_alone.paid[kind] == 0


def test_a_blink_too_small_to_see_at_c4_is_paid_at_most_once_in_a_hundred(
    at_c4_alone: Outcome,
) -> None:
    """12-48 µV, no larger than the EEG itself: its ripples may tip an amplitude either way."""
    assert at_c4_alone.paid["blink"] <= at_c4_alone.inserted["blink"] / 100


def test_a_blink_at_c4_is_never_paid_where_a_frontal_channel_is_watched(
    with_fp1_watched: Outcome,
) -> None:
    assert with_fp1_watched.inserted["blink"] > 100
    assert with_fp1_watched.paid["blink"] == 0


def test_without_hiding_many_of_them_would_be_paid(at_c4_alone: Outcome) -> None:
    """The thousand are worth hiding, and this would be noticed if they were not hidden."""
    would_be_paid = at_c4_alone.paid_unhidden
    assert sum(would_be_paid.values()) >= 60
    assert min(would_be_paid[kind] for kind in ("clench", "tension", "pop", "step")) >= 5
