"""What hides a signal: judged at every tick, with the reason named.

Sizes and steps are judged on a copy high-passed at 0.5 Hz, so that an electrode's offset hides
nothing; flat lines and clipping on the samples as they came; muscle in the highest band that the
sampling rate allows with the mains left out, and beside it in 30-42 Hz, for where an amplifier
has filtered the high band away. Whatever is new in a tick is judged with that tick: large things
at once, mild muscle within 0.1 s.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import signal

from engine.chunk import Floats
from engine.events import Reason
from engine.protocol import ClearnessLimits
from engine.signal.grid import Grid

HIGH_PASS_HZ = 0.5
STEP_S = 0.008
FLAT_S, UNCHANGED_S = 0.3, 0.1
CLIPPED_SAMPLES = 3
MUSCLE_S = 0.1
SUDDEN = 2.5
"""A single tick above this many times the muscle limit is muscle at once."""

LOW_MUSCLE_HZ = (30.0, 42.0)
LOW_SHARE = 3.0
"""The low band's limit, as a multiple of the high band's: the EEG itself is larger there."""

MUSCLE_UNSEEN_UV = 0.12
"""Below this amplitude the high band holds less than any amplifier's noise: it was filtered."""

_MUSCLE_TAPS_S = 0.12
_HUMP_S = ((0.0, 0.06), (0.1, 0.22), (0.28, 0.4))
"""Seconds back in time: after, at the height of, and before a blink of 200-400 ms."""

_HUMP_SHARE = 0.8
"""A hump of this share of the blink limit above both of its sides is a blink."""


def muscle_band(sfreq: float) -> tuple[float, float]:
    """Return the highest band, Hz, for muscle at a decimated rate, clear of 50 and 60 Hz."""
    top = min(95.0, 0.46 * sfreq)
    return (66.0, top) if top >= 72 else LOW_MUSCLE_HZ


@dataclass(frozen=True, eq=False)
class ClearnessState:
    """Per signal: high-pass memory, recent samples for steps, flat lines and muscle, and runs."""

    started: bool
    zi: Floats
    recent: Floats
    last: Floats
    unchanged: Floats
    powers: Floats


@dataclass(frozen=True, eq=False)
class Seen:
    """One tick of every signal.

    Attributes
    ----------
    reasons : for each signal, those that hold now. trace_uv : (per_tick, n_signals), high-passed.
    muscle_uv : (n_signals,), amplitude of muscle, peak scale, relative to the high band's limit.
    high_band_uv : (n_signals,), amplitude of the highest band alone.
    """

    reasons: tuple[tuple[Reason, ...], ...]
    trace_uv: Floats
    muscle_uv: Floats
    high_band_uv: Floats


@dataclass(frozen=True, eq=False)
class Clearness:
    """Settings: limits, filters, and one matrix for the muscle bands of a tick."""

    grid: Grid
    limits: ClearnessLimits
    sos: Floats
    muscle_taps: Floats
    muscle_matrix: Floats
    hump_matrix: Floats

    def start(self, n_signals: int) -> ClearnessState:
        """Return the state before a segment."""
        n_powers = max(1, round(MUSCLE_S / self.grid.tick_s))
        return ClearnessState(
            started=False,
            zi=np.zeros((self.sos.shape[0], 2, n_signals)),
            recent=np.zeros((self.hump_matrix.shape[1], n_signals)),
            last=np.full(n_signals, np.nan),
            unchanged=np.zeros(n_signals),
            powers=np.zeros((n_powers, 2, n_signals)),
        )

    def step(
        self, state: ClearnessState, block: Floats, samples: Floats
    ) -> tuple[ClearnessState, Seen]:
        """Judge one tick: ``block`` as it came, ``samples`` decimated, both (n, n_signals) µV."""
        zi, recent = state.zi, state.recent
        if not state.started:
            zi = signal.sosfilt_zi(self.sos)[:, :, np.newaxis] * samples[0]
            recent = np.repeat(samples[:1], recent.shape[0], axis=0)
        trace, zi = signal.sosfilt(self.sos, samples, axis=0, zi=zi)
        recent = np.concatenate([recent[samples.shape[0] :], samples])
        last, unchanged = _unchanged_runs(state.last, state.unchanged, block)
        now = self._band_powers(recent)
        powers = np.concatenate([state.powers[1:], now[np.newaxis]])
        level = np.sqrt(2 * powers.mean(axis=0))
        sudden = np.sqrt(2 * now) / SUDDEN
        relative = np.array([1.0, LOW_SHARE])[:, np.newaxis]
        muscle = np.maximum(level, sudden) / relative

        size = np.abs(trace).max(axis=0)
        n_step = max(1, round(STEP_S * self.grid.sfreq_decimated))
        tail = recent[-(samples.shape[0] + n_step) :]
        jump = np.abs(tail[n_step:] - tail[:-n_step]).max(axis=0)
        n_flat = round(FLAT_S * self.grid.sfreq_decimated)
        spread = np.ptp(recent[-n_flat:], axis=0) if state.started else np.full_like(size, np.inf)
        unchanged_s = unchanged / self.grid.sfreq
        limits = self.limits
        found = {
            Reason.CLIPPING: (unchanged + 1 >= CLIPPED_SAMPLES) & (size > limits.limit_uv / 2),
            Reason.FLAT: (unchanged_s >= UNCHANGED_S) | (spread < limits.flat_uv),
            Reason.STEP: jump > limits.step_uv,
            Reason.BLINK: self._hump(recent) > _HUMP_SHARE * limits.blink_uv,
            Reason.AMPLITUDE: size > limits.limit_uv,
            Reason.MUSCLE: muscle.max(axis=0) > limits.muscle_uv,
        }
        reasons = tuple(
            tuple(reason for reason, where in found.items() if where[i])
            for i in range(size.shape[0])
        )
        after = ClearnessState(True, zi, recent, last, unchanged, powers)
        return after, Seen(reasons, trace, muscle.max(axis=0), level[0])

    def _hump(self, recent: Floats) -> Floats:
        """Return how far the highest hump that ends in this tick stands above its sides."""
        means = (self.hump_matrix @ recent).reshape(3, self.grid.per_tick, -1)
        return np.asarray((means[1] - np.maximum(means[0], means[2])).max(axis=0))

    def _band_powers(self, recent: Floats) -> Floats:
        """Return the mean square of each muscle band over the last tick, (2, n_signals)."""
        n = self.muscle_matrix.shape[1]
        filtered = self.muscle_matrix @ recent[-n:]
        by_band = filtered.reshape(2, self.grid.per_tick, -1)
        return np.asarray(np.square(by_band).mean(axis=1))


def _unchanged_runs(last: Floats, run: Floats, block: Floats) -> tuple[Floats, Floats]:
    """Return (last sample, length of the run of samples equal to it) for each signal."""
    same = np.diff(np.concatenate([last[np.newaxis], block]), axis=0) == 0
    changed_last = same.shape[0] - 1 - np.argmin(same[::-1], axis=0)
    after = np.where(same.all(axis=0), run + same.shape[0], same.shape[0] - 1 - changed_last)
    return block[-1].copy(), after.astype(np.float64)


def clearness_for(grid: Grid, limits: ClearnessLimits) -> Clearness:
    """Design the high-pass and the muscle bands for a grid."""
    sfreq = grid.sfreq_decimated
    sos = signal.butter(1, HIGH_PASS_HZ, "highpass", fs=sfreq, output="sos")
    n_taps = round(_MUSCLE_TAPS_S * sfreq) | 1
    high = muscle_band(sfreq)
    taps = np.stack([_muscle_taps(band, sfreq, n_taps) for band in (high, LOW_MUSCLE_HZ)])
    matrix = np.zeros((2, grid.per_tick, n_taps - 1 + grid.per_tick))
    for row in range(grid.per_tick):
        matrix[:, row, row : row + n_taps] = taps[:, ::-1]
    hump = _hump_matrix(grid)
    return Clearness(grid, limits, sos, taps, matrix.reshape(-1, matrix.shape[2]), hump)


def _hump_matrix(grid: Grid) -> Floats:
    """Lay out the three means of a hump for each sample of a tick, (3 * per_tick, n_recent)."""
    edges = [[round(s * grid.sfreq_decimated) for s in pair] for pair in _HUMP_S]
    n_recent = edges[-1][1] + grid.per_tick
    matrix = np.zeros((3, grid.per_tick, n_recent))
    for part, (newest, oldest) in enumerate(edges):
        for row in range(grid.per_tick):
            end = n_recent - grid.per_tick + row + 1 - newest
            matrix[part, row, end - (oldest - newest) : end] = 1 / (oldest - newest)
    return matrix.reshape(-1, n_recent)


def _muscle_taps(band: tuple[float, float], sfreq: float, n_taps: int) -> Floats:
    """Design a band-pass of least squares that shuts out the mains and all below 25 Hz."""
    low, high = band
    beside = 5.0
    edges = [0, low - beside, low, high, min(high + beside, sfreq / 2 - 0.01), sfreq / 2]
    return np.asarray(signal.firls(n_taps, edges, [0, 0, 1, 1, 0, 0], weight=[30, 1, 30], fs=sfreq))
