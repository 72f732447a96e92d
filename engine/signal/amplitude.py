"""Band amplitudes, one a filter and signal at every tick: what all estimators share.

An estimator is frozen settings with two pure steps: `start` gives the state before a segment,
`step` takes one tick of decimated samples. Its answers are in µV peak: a sine of 10 µV amplitude
at the band's centre reads 10.0. `analytic-fir` stands here; `butterworth` in its own file; a
third, weighted by the client's own spectrum, is to stand beside them with the same face.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Protocol

import numpy as np

from engine.chunk import Floats
from engine.signal.decimate import Decimator, decimator_for
from engine.signal.design import BandGoal, Complexes, Spectrum, design_band, response_of
from engine.signal.grid import Grid
from engine.signal.spectrum import typical_eeg

MEMORY_S = 2.0
"""Length of the analytic filters."""


class Estimator(Protocol):
    """What the pipeline asks of an estimator of band amplitudes.

    ``name`` is the one that a protocol gives; ``delays_s`` holds the delay from the sensor a
    band, the decimator's counted; ``memory_ticks`` is how long it takes to settle.
    """

    @property
    def name(self) -> str: ...
    @property
    def decimator(self) -> Decimator: ...
    @property
    def goals(self) -> tuple[BandGoal, ...]: ...
    @property
    def delays_s(self) -> tuple[float, ...]: ...
    @property
    def memory_ticks(self) -> int: ...

    def start(self, first: Floats) -> Any:
        """Return the state before a segment, as if its first sample had stood for ever."""
        ...

    def step(self, state: Any, samples: Floats) -> tuple[Any, Floats]:
        """Take (per_tick, n_signals) decimated µV; return (state, (n_bands, n_signals) µV)."""
        ...

    def gain(self, band: int, freqs_hz: Floats) -> Floats:
        """Return what a sine of 1 µV at each frequency reads, decimator included."""
        ...

    def tails(self, band: int) -> tuple[Floats, Floats]:
        """Return what disturbances leave t ticks after their end; both (memory_ticks + 1,).

        The first of a step of 1 µV, the second of white noise of 1 µV a square root of Hz.
        """
        ...


@dataclass(frozen=True, eq=False)
class AnalyticFir:
    """Complex FIR filters, (n_bands, n_taps), newest sample first."""

    grid: Grid
    decimator: Decimator
    goals: tuple[BandGoal, ...]
    taps: Complexes
    matrix: Floats
    name: str = "analytic-fir"

    @property
    def delays_s(self) -> tuple[float, ...]:
        return tuple(goal.delay_s for goal in self.goals)

    @property
    def memory_ticks(self) -> int:
        n_taps: int = self.taps.shape[1]
        return math.ceil(n_taps / self.grid.per_tick)

    def start(self, first: Floats) -> Floats:
        return np.repeat(first[np.newaxis], self.taps.shape[1], axis=0)

    def step(self, state: Floats, samples: Floats) -> tuple[Floats, Floats]:
        window = np.concatenate([state[samples.shape[0] :], samples])
        parts = self.matrix @ window
        n_bands = self.taps.shape[0]
        return window, np.hypot(parts[:n_bands], parts[n_bands:])

    def gain(self, band: int, freqs_hz: Floats) -> Floats:
        response = response_of(self.taps[band], self.grid.sfreq_decimated, freqs_hz)
        return np.asarray(np.abs(response * self.decimator.response(freqs_hz)) / 2)

    def tails(self, band: int) -> tuple[Floats, Floats]:
        return fir_tails(self.taps[band], self.grid)


def fir_tails(taps: Complexes, grid: Grid) -> tuple[Floats, Floats]:
    """Return the step tail and the noise tail of a filter, at ticks (see `Estimator.tails`).

    The step tail is the largest magnitude still to come, so that it never rises again. Noise of
    1 µV/√Hz has the variance of half the sampling rate.
    """
    after_step = np.abs(np.cumsum(taps[::-1])[::-1])
    still_to_come = np.maximum.accumulate(after_step[::-1])[::-1]
    left = np.cumsum(np.abs(taps[::-1]) ** 2)[::-1]
    noise = np.sqrt(left * grid.sfreq_decimated / 2)
    at_ticks = slice(None, None, grid.per_tick)
    return np.append(still_to_come[at_ticks], 0.0), np.append(noise[at_ticks], 0.0)


@lru_cache(maxsize=32)
def analytic_fir(grid: Grid, goals: tuple[BandGoal, ...]) -> AnalyticFir:
    """Design the default estimator: filters weighted by the typical spectrum of the EEG."""
    return design_fir(grid, goals, typical_eeg)


def design_fir(grid: Grid, goals: tuple[BandGoal, ...], spectrum: Spectrum) -> AnalyticFir:
    """Design one filter a goal, weighted by ``spectrum``."""
    decimator = decimator_for(grid)
    n_taps = round(MEMORY_S * grid.sfreq_decimated)
    taps = np.stack(
        [
            design_band(goal, grid.sfreq_decimated, n_taps, spectrum, decimator.response)
            for goal in goals
        ]
    )
    return with_taps(grid, decimator, goals, taps)


def with_taps(
    grid: Grid, decimator: Decimator, goals: tuple[BandGoal, ...], taps: Complexes
) -> AnalyticFir:
    """Lay designed taps out as the one matrix of a tick: real parts above imaginary ones."""
    reversed_taps = taps[:, ::-1]
    matrix = np.ascontiguousarray(np.concatenate([reversed_taps.real, reversed_taps.imag]))
    return AnalyticFir(grid, decimator, goals, taps, matrix)
