"""What hides a signal: judged at every tick, with the reason named.

Sizes and steps are judged on a copy high-passed at 0.5 Hz, so that an electrode's offset hides
nothing (a step must stand out from the jumps before it, or alpha and mains would be steps); flat
lines and clipping on the samples as they came; muscle in the highest band that the
sampling rate allows with the mains left out, and beside it in 30-42 Hz, for where an amplifier
has filtered the high band away. Whatever is new in a tick is judged with that tick: large things
at once, mild muscle within 0.1 s.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import compress

import numpy as np
from numpy.typing import NDArray
from scipy import signal

from engine.chunk import Floats
from engine.events import Reason
from engine.protocol import ClearnessLimits
from engine.signal.grid import Grid

HIGH_PASS_HZ = 0.5
STEP_S = 0.008
STEP_SHARE, STEP_MEMORY_S = 1.5, 0.4
"""A step stands out: it is that many times the largest jump of the time before it."""

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

_LOOKED_FOR = (
    Reason.CLIPPING,
    Reason.FLAT,
    Reason.STEP,
    Reason.BLINK,
    Reason.AMPLITUDE,
    Reason.MUSCLE,
)


def muscle_band(sfreq: float) -> tuple[float, float]:
    """Return the highest band, Hz, for muscle at a decimated rate, clear of 50 and 60 Hz."""
    top = min(95.0, 0.46 * sfreq)
    return (66.0, top) if top >= 72 else LOW_MUSCLE_HZ


@dataclass(frozen=True, eq=False)
class ClearnessState:
    """Per signal: high-pass memory, recent samples, the run of equal samples, and by ticks, the
    oldest first, the largest jump and the muscle powers.
    """

    started: bool
    memory: Floats
    recent: Floats
    last: Floats
    unchanged: Floats
    jumps: Floats
    powers: Floats


@dataclass(frozen=True, eq=False)
class Seen:
    """One tick of every signal.

    Attributes
    ----------
    reasons : for each signal, those that hold now. trace_uv : (per_tick, n_signals), high-passed.
    density_uv : (n_signals,), µV/√Hz, of noise as strong as the stronger of the muscle bands.
    high_band_uv : (n_signals,), amplitude of the highest band alone.
    muscle_uv, blink_uv : (n_signals,), what is held against the limits of that name: muscle (or
        a blink) is where it is larger.
    """

    reasons: tuple[tuple[Reason, ...], ...]
    trace_uv: Floats
    density_uv: Floats
    high_band_uv: Floats
    muscle_uv: Floats
    blink_uv: Floats


@dataclass(frozen=True, eq=False)
class Clearness:
    """Settings: limits, and what is looked at in a tick, laid out as matrices.

    ``high_pass``: (1 + per_tick, 1 + per_tick), from memory and samples to trace and memory.
    ``quick``: (3 * per_tick, n), the muscle bands and the jumps, from the newest n samples.
    ``humps``: (3 * per_tick, n_recent). ``muscle_taps``: (2, n_taps), high band, low band;
    ``muscle_passed``: (2, 1), the power that they let through of noise of 1 µV/√Hz.
    """

    grid: Grid
    limits: ClearnessLimits
    high_pass: Floats
    quick: Floats
    humps: Floats
    muscle_taps: Floats
    muscle_passed: Floats

    def start(self, n_signals: int) -> ClearnessState:
        """Return the state before a segment."""
        n_powers = max(1, round(MUSCLE_S / self.grid.tick_s))
        return ClearnessState(
            started=False,
            memory=np.zeros((1, n_signals)),
            recent=np.zeros((self.humps.shape[1], n_signals)),
            last=np.full(n_signals, np.nan),
            unchanged=np.zeros(n_signals),
            jumps=np.zeros((max(2, round(STEP_MEMORY_S / self.grid.tick_s)), n_signals)),
            powers=np.zeros((n_powers, 2, n_signals)),
        )

    def step(
        self, state: ClearnessState, block: Floats, samples: Floats
    ) -> tuple[ClearnessState, Seen]:
        """Judge one tick: ``block`` as it came, ``samples`` decimated, both (n, n_signals) µV."""
        memory, recent = state.memory, state.recent
        if not state.started:
            memory = _settled(self.high_pass) * samples[:1]
            recent = np.repeat(samples[:1], recent.shape[0], axis=0)
        moved = self.high_pass @ np.concatenate([memory, samples])
        trace, memory = moved[:-1], moved[-1:]
        recent = np.concatenate([recent[samples.shape[0] :], samples])
        unchanged, longest = _equal_runs(state.last, state.unchanged, block)

        per_tick = self.grid.per_tick
        parts = (self.quick @ recent[-self.quick.shape[1] :]).reshape(3, per_tick, -1)
        now = np.square(parts[:2]).sum(axis=1) / per_tick
        powers = np.concatenate([state.powers[1:], now[np.newaxis]])
        level = powers.sum(axis=0) / powers.shape[0]
        high, low = np.sqrt(2 * np.maximum(level, now / SUDDEN**2))
        muscle = np.maximum(high, low / LOW_SHARE)

        jump = np.abs(parts[2]).max(axis=0)
        usual = state.jumps[:-1].max(axis=0)
        size = np.abs(trace).max(axis=0)
        limits, sfreq = self.limits, self.grid.sfreq
        flat = longest >= UNCHANGED_S * sfreq
        if state.started:
            n_flat = round(FLAT_S * self.grid.sfreq_decimated)
            newest = recent[-n_flat:]
            flat |= newest.max(axis=0) - newest.min(axis=0) < limits.flat_uv
        hump = self._hump(recent)
        found = np.array(
            [
                (longest + 1 >= CLIPPED_SAMPLES) & (size > limits.limit_uv / 2),
                flat,
                jump > np.maximum(limits.step_uv, STEP_SHARE * usual),
                hump > _HUMP_SHARE * limits.blink_uv,
                size > limits.limit_uv,
                muscle > limits.muscle_uv,
            ]
        )
        jumps = np.concatenate([state.jumps[1:], jump[np.newaxis]])
        after = ClearnessState(True, memory, recent, block[-1], unchanged, jumps, powers)
        return after, Seen(
            reasons=_named(found),
            trace_uv=trace,
            density_uv=np.sqrt((level / self.muscle_passed).max(axis=0)),
            high_band_uv=np.sqrt(2 * level[0]),
            muscle_uv=muscle,
            blink_uv=hump / _HUMP_SHARE,
        )

    def _hump(self, recent: Floats) -> Floats:
        """Return how far the highest hump that ends in this tick stands above its sides."""
        after, height, before = (self.humps @ recent).reshape(3, self.grid.per_tick, -1)
        return np.asarray((height - np.maximum(after, before)).max(axis=0))


def _named(found: NDArray[np.bool_]) -> tuple[tuple[Reason, ...], ...]:
    """Turn (n_reasons, n_signals) of what was found into names, one tuple a signal."""
    if not found.any():
        return tuple(() for _ in range(found.shape[1]))
    return tuple(tuple(compress(_LOOKED_FOR, column)) for column in found.T)


def _equal_runs(last: Floats, run: Floats, block: Floats) -> tuple[Floats, Floats]:
    """Count, for each signal, samples equal to the one before: (run at the end, longest run).

    ``last`` is the sample before the block, ``run`` the run that it ended.
    """
    same = np.empty(block.shape, dtype=np.bool_)
    np.equal(block[:1], last, out=same[:1])
    np.equal(block[1:], block[:-1], out=same[1:])
    if not same.any():
        return np.zeros_like(run), np.zeros_like(run)
    rows = np.arange(float(block.shape[0]))[:, np.newaxis]
    changed = np.maximum.accumulate(np.where(same, -1 - run, rows), axis=0)
    runs = rows - changed
    return runs[-1], runs.max(axis=0)


def clearness_for(grid: Grid, limits: ClearnessLimits) -> Clearness:
    """Design the high-pass, the muscle bands and the hump for a grid."""
    sfreq, per_tick = grid.sfreq_decimated, grid.per_tick
    n_taps = round(_MUSCLE_TAPS_S * sfreq) | 1
    bands = (muscle_band(sfreq), LOW_MUSCLE_HZ)
    taps = np.stack([_muscle_taps(band, sfreq, n_taps) for band in bands])
    n_step = max(1, round(STEP_S * sfreq))
    jump = np.zeros(n_taps)
    jump[0], jump[n_step] = 1.0, -1.0
    quick = np.zeros((3, per_tick, n_taps - 1 + per_tick))
    for row in range(per_tick):
        quick[:, row, row : row + n_taps] = np.vstack([taps, jump])[:, ::-1]
    return Clearness(
        grid=grid,
        limits=limits,
        high_pass=_high_pass(grid),
        quick=quick.reshape(-1, quick.shape[2]),
        humps=_hump_matrix(grid),
        muscle_taps=taps,
        muscle_passed=np.square(taps).sum(axis=1, keepdims=True) * sfreq / 2,
    )


def _high_pass(grid: Grid) -> Floats:
    """Lay one tick of a first-order high-pass out as a matrix: see `Clearness`."""
    sos = signal.butter(1, HIGH_PASS_HZ, "highpass", fs=grid.sfreq_decimated, output="sos")
    units = np.eye(1 + grid.per_tick)
    zi = np.stack([units[:1], np.zeros_like(units[:1])], axis=1)
    passed, zi = signal.sosfilt(sos, units[1:], axis=0, zi=zi)
    return np.concatenate([passed, zi[:, 0]])


def _settled(high_pass: Floats) -> float:
    """Return the memory that a constant of 1 leaves: with it the first output is zero."""
    return float(-high_pass[0, 1] / high_pass[0, 0])


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
    """Design a band-pass of least squares that shuts out the mains and all below 25 Hz.

    Gain 0 at 0 Hz is exact: a hundredth of an electrode's offset would be muscle for ever.
    """
    low, high = band
    beside = 5.0
    edges = [0, low - beside, low, high, min(high + beside, sfreq / 2 - 0.01), sfreq / 2]
    taps = signal.firls(n_taps, edges, [0, 0, 1, 1, 0, 0], weight=[30, 1, 30], fs=sfreq)
    window = np.hanning(n_taps)
    return np.asarray(taps - window * (taps.sum() / window.sum()))
