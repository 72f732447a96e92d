"""Integer decimation, one tick at a time.

A minimum-phase low-pass keeps the delay short (its phase is made up for by the band filters'
design); every tick is one matrix product of fixed shape, so that the decimated samples are the
same bits whatever the chunking.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import signal

from engine.chunk import Floats
from engine.signal.design import Complexes, response_of
from engine.signal.grid import Grid

PASS_SHARE, STOP_SHARE = 0.4, 0.6
"""Edges of the low-pass, as shares of the decimated rate: what aliases lands above 0.4 of it."""

_STOP_DB = 80.0


@dataclass(frozen=True, eq=False)
class Decimator:
    """Settings: the grid and the taps, (n_taps,), newest sample first. State: recent samples."""

    grid: Grid
    taps: Floats
    matrix: Floats

    def start(self, first: Floats) -> Floats:
        """Return the state before a segment whose first sample is ``first``, (n_signals,)."""
        return np.repeat(first[np.newaxis], self.taps.shape[0] - 1, axis=0)

    def step(self, recent: Floats, block: Floats) -> tuple[Floats, Floats]:
        """Take one tick of samples, (block, n_signals); return (state, (per_tick, n_signals))."""
        window = np.concatenate([recent, block])
        return window[block.shape[0] :], self.matrix @ window

    def response(self, freqs_hz: Floats) -> Complexes:
        """Return the complex response at frequencies in Hz."""
        return response_of(self.taps, self.grid.sfreq, freqs_hz)


def decimator_for(grid: Grid) -> Decimator:
    """Design the low-pass for a grid and lay it out as the matrix of one tick."""
    taps = np.ones(1)
    if grid.factor > 1:
        width = 2 * (STOP_SHARE - PASS_SHARE) / grid.factor
        n_taps, beta = signal.kaiserord(_STOP_DB, width)
        cutoff = (STOP_SHARE + PASS_SHARE) / 2 * grid.sfreq_decimated
        linear = signal.firwin(n_taps | 1, cutoff, window=("kaiser", beta), fs=grid.sfreq)
        taps = signal.minimum_phase(linear, method="homomorphic", half=False)
        taps = taps / taps.sum()
    matrix = np.zeros((grid.per_tick, taps.shape[0] - 1 + grid.block))
    for row in range(grid.per_tick):
        first = row * grid.factor + grid.factor - 1
        matrix[row, first : first + taps.shape[0]] = taps[::-1]
    return Decimator(grid, taps, matrix)
