"""What most people do, kept to compare: a band-pass and a moving RMS.

Butterworth of third order (six poles), RMS over 0.25 s, times the square root of two so that it
reads the peak of a sine. Its delay is whatever it is: the group delay at the band's centre and
half of the RMS window.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy import signal

from engine.chunk import Floats
from engine.signal.amplitude import MEMORY_S
from engine.signal.decimate import Decimator, decimator_for
from engine.signal.design import BandGoal
from engine.signal.grid import Grid

ORDER = 3
RMS_S = 0.25

_FORGOTTEN = 1e-4
"""Share to which the slowest pole's memory has to fall before the filter counts as settled."""


@dataclass(frozen=True, eq=False)
class ButterworthState:
    """``zi``: one array (n_sections, 2, n_signals) a band; ``squares``: (n_bands, n, n_signals)."""

    zi: tuple[Floats, ...]
    squares: Floats


@dataclass(frozen=True, eq=False)
class Butterworth:
    """Band-pass filters as second-order sections, gain 1 at each band's centre.

    ``n_memory``: decimated samples until the slowest pole has forgotten, at least two seconds.
    """

    grid: Grid
    decimator: Decimator
    goals: tuple[BandGoal, ...]
    sos: tuple[Floats, ...]
    n_rms: int
    n_memory: int
    name: str = "butterworth"

    @property
    def delays_s(self) -> tuple[float, ...]:
        return tuple(self._delay_s(band) for band in range(len(self.goals)))

    def _delay_s(self, band: int) -> float:
        centre, near = self.goals[band].centre_hz, 0.05
        freqs = np.array([centre - near, centre + near])
        phase = np.unwrap(np.angle(self._response(band, freqs)))
        group = -(phase[1] - phase[0]) / (2 * np.pi * 2 * near)
        return float(group + (self.n_rms - 1) / 2 / self.grid.sfreq_decimated)

    def _response(self, band: int, freqs_hz: Floats) -> np.ndarray:
        _, response = signal.sosfreqz(self.sos[band], freqs_hz, fs=self.grid.sfreq_decimated)
        return np.asarray(response * self.decimator.response(freqs_hz))

    @property
    def memory_ticks(self) -> int:
        return -(-(self.n_memory + self.n_rms) // self.grid.per_tick)

    def start(self, first: Floats) -> ButterworthState:
        zi = tuple(signal.sosfilt_zi(sos)[:, :, np.newaxis] * first for sos in self.sos)
        return ButterworthState(zi, np.zeros((len(self.sos), self.n_rms, first.shape[0])))

    def step(self, state: ButterworthState, samples: Floats) -> tuple[ButterworthState, Floats]:
        zi, bands = [], []
        for sos, before in zip(self.sos, state.zi, strict=True):
            filtered, after = signal.sosfilt(sos, samples, axis=0, zi=before)
            zi.append(after)
            bands.append(filtered)
        new = np.square(np.stack(bands))
        squares = np.concatenate([state.squares, new], axis=1)[:, -self.n_rms :]
        return ButterworthState(tuple(zi), squares), np.sqrt(2 * squares.mean(axis=1))

    def gain(self, band: int, freqs_hz: Floats) -> Floats:
        return np.asarray(np.abs(self._response(band, freqs_hz)))

    def tails(self, band: int) -> tuple[Floats, Floats]:
        per_tick, n_ticks = self.grid.per_tick, self.memory_ticks
        impulse = np.zeros((n_ticks + 1) * per_tick)
        impulse[0] = 1
        impulse = signal.sosfilt(self.sos[band], impulse)
        window = np.ones(self.n_rms) / self.n_rms

        def rms_of(squares: Floats) -> Floats:
            return np.sqrt(2 * np.convolve(squares, window)[: squares.shape[0]])

        after_step = rms_of(np.square(np.cumsum(impulse)))
        still_to_come = np.maximum.accumulate(after_step[::-1])[::-1]
        left = np.cumsum(np.square(impulse)[::-1])[::-1]
        noise = rms_of(left * self.grid.sfreq_decimated / 2)
        at_ticks = slice(None, None, per_tick)
        return still_to_come[at_ticks], np.maximum.accumulate(noise[at_ticks][::-1])[::-1]


@lru_cache(maxsize=32)
def butterworth(grid: Grid, goals: tuple[BandGoal, ...]) -> Butterworth:
    """Design the band-pass filters at the decimated rate."""
    decimator = decimator_for(grid)
    sections = []
    for goal in goals:
        edges = [goal.low_hz, goal.high_hz]
        sos = signal.butter(ORDER, edges, "bandpass", fs=grid.sfreq_decimated, output="sos")
        _, centre = signal.sosfreqz(sos, [goal.centre_hz], fs=grid.sfreq_decimated)
        total = np.abs(centre * decimator.response(np.array([goal.centre_hz])))[0]
        sos[0, :3] /= total
        sections.append(sos)
    n_rms = round(RMS_S * grid.sfreq_decimated)
    slowest = max(np.abs(np.roots(section[3:])).max() for sos in sections for section in sos)
    n_memory = max(
        round(MEMORY_S * grid.sfreq_decimated), math.ceil(math.log(_FORGOTTEN) / math.log(slowest))
    )
    return Butterworth(grid, decimator, goals, tuple(sections), n_rms, n_memory)
