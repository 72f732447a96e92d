"""A made-up client: EEG that changes over the minutes, blinks, and a jaw that clenches.

The state drifts slowly; with ``learning`` the bursts of SMR come more often as time goes by. It
does not react to points: the same seed gives the same session whatever the thresholds.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from engine.chunk import Floats
from simulators import artifacts
from simulators.blocks import Blocks, generator
from simulators.eeg import BLOCK_S, EYES_CLOSED, EYES_OPEN, Eeg

SITES = ("Fp1", "Fp2", "C3", "Cz", "C4", "Pz", "A1", "A2")
LEARNED_AFTER_S = 900.0
MOST_LEARNED = 0.4


@dataclass(frozen=True)
class PersonSettings:
    """Who sits in the chair, at which amplifier. ``mains_uv`` is line noise, µV peak."""

    seed: int = 1
    sfreq: float = 250.0
    ch_names: tuple[str, ...] = SITES
    eyes: str = "open"
    learning: bool = True
    artifacts: bool = True
    mains_hz: float = 50.0
    mains_uv: float = 0.5


@dataclass(frozen=True)
class Happening:
    """An artifact that the person makes: what, and when (seconds from the first sample)."""

    kind: str
    onset_s: float
    duration_s: float


@dataclass(frozen=True)
class _Habit:
    """An artifact that comes at most once in each slot, with a chance, for a time."""

    kind: str
    make: Callable[..., Floats]
    slot_s: float
    chance: float
    duration_s: tuple[float, float]


_BLINK = _Habit("blink", artifacts.blink, 5.0, 0.6, (0.2, 0.4))
_MUSCLE = (
    _Habit("clench", artifacts.clench, 60.0, 0.6, (0.4, 1.5)),
    _Habit("jaw tension", artifacts.jaw_tension, 45.0, 0.3, (1.0, 3.0)),
    _Habit("movement", artifacts.movement, 120.0, 0.3, (1.0, 3.0)),
)


class Person:
    """A client as an endless signal; see `simulators.blocks.Signal`."""

    def __init__(self, settings: PersonSettings):
        self.settings = settings
        self.sfreq = settings.sfreq
        self.ch_names = settings.ch_names
        rhythms = EYES_OPEN if settings.eyes == "open" else EYES_CLOSED
        self.eeg = Eeg(
            self.sfreq, self.ch_names, settings.seed, rhythms, modulation=self._modulation
        )
        blinks = (_BLINK,) if settings.eyes == "open" else ()
        self._habits = (*blinks, *_MUSCLE) if settings.artifacts else ()
        self._waves = generator(settings.seed, "state", 0).uniform(0.0, 2.0 * math.pi, 4)
        self._n_block = round(BLOCK_S * self.sfreq)
        self._blocks = Blocks(self._n_block, len(self.ch_names), self._block)

    def read(self, start: int, n_samples: int) -> Floats:
        """Return samples ``start`` to ``start + n_samples``, (n_samples, n_channels), µV."""
        return self._blocks.read(start, n_samples)

    def happenings(self, start_s: float, stop_s: float) -> tuple[Happening, ...]:
        """Return every artifact that touches the seconds from ``start_s`` to ``stop_s``."""
        found = [happening for _, _, happening in self._touching(start_s, stop_s)]
        return tuple(sorted(found, key=lambda h: h.onset_s))

    def _modulation(self, rhythm: str, time_s: float) -> tuple[float, float]:
        """Let size and frequency of the bursts drift over minutes, and SMR come with time."""
        one, two, three, four = self._waves
        size = 1.0 + 0.08 * math.sin(time_s / 31.0 + one) + 0.06 * math.sin(time_s / 67.0 + two)
        share = 1.0 + 0.1 * math.sin(time_s / 43.0 + three) + 0.1 * math.sin(time_s / 90.0 + four)
        if rhythm == "smr" and self.settings.learning:
            share *= 1.0 + MOST_LEARNED * min(1.0, time_s / LEARNED_AFTER_S)
        return share, size

    def _block(self, index: int) -> Floats:
        start = index * self._n_block
        total = self.eeg.read(start, self._n_block)
        settings = self.settings
        if settings.mains_uv:
            hum = artifacts.line(
                self.sfreq, self._n_block, settings.mains_hz, settings.mains_uv, start
            )
            total = total + hum[:, np.newaxis]
        stop_s = (start + self._n_block) / self.sfreq
        for habit, slot, happening in self._touching(start / self.sfreq, stop_s):
            offset = round(happening.onset_s * self.sfreq) - start
            for c, site in enumerate(self.ch_names):
                rng = self._generator(habit, slot, site)
                wave = habit.make(self.sfreq, rng, site, duration_s=happening.duration_s)
                first, end = max(0, offset), min(self._n_block, offset + wave.size)
                if first < end:
                    total[first:end, c] += wave[first - offset : end - offset]
        return total

    def _touching(self, start_s: float, stop_s: float) -> list[tuple[_Habit, int, Happening]]:
        found = []
        for habit in self._habits:
            slots = range(int(start_s // habit.slot_s), math.ceil(stop_s / habit.slot_s))
            for slot in slots:
                rng = generator(self.settings.seed, habit.kind, slot)
                chance, place, length = rng.uniform(size=3)
                low, high = habit.duration_s
                duration_s = low + length * (high - low)
                onset_s = (slot + place) * habit.slot_s - place * duration_s
                touches = onset_s < stop_s and onset_s + duration_s > start_s
                if chance < habit.chance and touches:
                    found.append((habit, slot, Happening(habit.kind, onset_s, duration_s)))
        return found

    def _generator(self, habit: _Habit, slot: int, site: str) -> np.random.Generator:
        """Return one generator for all sites, but for muscle, whose noise differs at each."""
        muscle = habit.make in (artifacts.clench, artifacts.jaw_tension)
        return generator(self.settings.seed, f"{habit.kind} {site if muscle else ''}", slot)
