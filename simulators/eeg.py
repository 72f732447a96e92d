"""Seeded EEG at any rate and any channels: a 1/f background and bursts of known amplitude.

Everything is made in blocks that depend on nothing but the seed, the channel's label and the
block's number, so that any stretch can be read at any time, in any pieces, with the same bits.
A channel reads the same alone as among others.

The sizes are those of real people at rest (C4, about 4 µV RMS theta, 2 SMR, 2 high beta).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Floats
from simulators.blocks import Blocks, generator
from simulators.sites import weights_at

BLOCK_S = 2.0
RAMP = 0.25
"""Share of a burst in which it rises, and in which it falls; between them it is at its peak."""


@dataclass(frozen=True)
class Rhythm:
    """A rhythm that comes in bursts, at most one in each slot of ``slot_s`` seconds.

    ``peak_uv`` (range of the amplitudes, microvolts peak) holds at the strongest site; ``share``
    is the share of slots with a burst; ``name`` is a column of the table of sites.
    """

    name: str
    frequency_hz: tuple[float, float]
    peak_uv: tuple[float, float]
    duration_s: tuple[float, float]
    slot_s: float
    share: float


@dataclass(frozen=True)
class Burst:
    """One burst: a sine of ``peak_uv`` at the strongest site, between two smooth ramps."""

    rhythm: str
    onset_s: float
    duration_s: float
    frequency_hz: float
    peak_uv: float
    phase: float


EYES_OPEN = (
    Rhythm("theta", (4.8, 7.2), (5.0, 13.0), (0.6, 1.7), 2.0, 0.9),
    Rhythm("alpha", (9.0, 10.5), (6.0, 14.0), (0.5, 1.4), 2.0, 0.6),
    Rhythm("smr", (12.6, 14.4), (3.0, 7.0), (0.6, 1.7), 2.0, 0.72),
    Rhythm("high_beta", (22.0, 28.0), (2.0, 6.0), (0.2, 0.8), 1.0, 0.5),
)
EYES_CLOSED = (
    EYES_OPEN[0],
    Rhythm("alpha", (9.0, 10.5), (15.0, 45.0), (0.8, 1.8), 2.0, 0.9),
    *EYES_OPEN[2:],
)

Modulation = Callable[[str, float], tuple[float, float]]
"""(rhythm, time_s) to factors on the share and on the amplitude of bursts at that time."""


def _steady(rhythm: str, time_s: float) -> tuple[float, float]:
    return 1.0, 1.0


class Eeg:
    """EEG of (n_samples, n_channels), microvolts, from sample 0 for ever.

    ``background_uv`` is the density of the 1/f background at 10 Hz, µV per √Hz.
    """

    def __init__(
        self,
        sfreq: float,
        ch_names: tuple[str, ...],
        seed: int = 0,
        rhythms: tuple[Rhythm, ...] = EYES_OPEN,
        background_uv: float = 0.7,
        modulation: Modulation = _steady,
    ):
        self.sfreq = sfreq
        self.ch_names = ch_names
        self.rhythms = rhythms
        self._seed = seed
        self._modulation = modulation
        self._n_block = round(BLOCK_S * sfreq)
        self._shape = _background_shape(sfreq, self._n_block, background_uv)
        self._blocks = Blocks(self._n_block, len(ch_names), self._block)

    def read(self, start: int, n_samples: int) -> Floats:
        """Return samples ``start`` to ``start + n_samples``, (n_samples, n_channels), µV."""
        return self._blocks.read(start, n_samples)

    def bursts(self, start_s: float, stop_s: float) -> tuple[Burst, ...]:
        """Return every burst that touches the seconds from ``start_s`` to ``stop_s``."""
        found = []
        for rhythm in self.rhythms:
            slots = range(int(start_s // rhythm.slot_s), math.ceil(stop_s / rhythm.slot_s))
            found += [b for slot in slots if (b := self._burst(rhythm, slot)) is not None]
        touching = (b for b in found if b.onset_s < stop_s and b.onset_s + b.duration_s > start_s)
        return tuple(sorted(touching, key=lambda b: b.onset_s))

    def peak_uv(self, burst: Burst, ch_name: str) -> float:
        """Return the amplitude of a burst on a channel, microvolts peak."""
        return burst.peak_uv * float(getattr(weights_at(ch_name), burst.rhythm))

    def _block(self, index: int) -> Floats:
        return self._background(index) + self._bursts_in(index)

    def _background(self, index: int) -> Floats:
        """Shape white noise by overlap-save: a block needs its own noise and the one before."""
        common = self._noise("", index)
        columns = []
        for name in self.ch_names:
            own = 0.8 * self._noise(name, index) + 0.6 * common
            shaped = np.fft.irfft(np.fft.rfft(own) * self._shape, own.size)[self._n_block :]
            columns.append(shaped * weights_at(name).background)
        return np.stack(columns, axis=1)

    def _noise(self, name: str, index: int) -> Floats:
        parts = [generator(self._seed, f"noise {name}", i) for i in (index - 1, index)]
        return np.concatenate([rng.standard_normal(self._n_block) for rng in parts])

    def _bursts_in(self, index: int) -> Floats:
        start = index * self._n_block
        times_s = np.arange(start, start + self._n_block) / self.sfreq
        total = np.zeros((self._n_block, len(self.ch_names)))
        for burst in self.bursts(times_s[0], times_s[-1] + 1.0 / self.sfreq):
            peaks = [self.peak_uv(burst, name) for name in self.ch_names]
            total += np.outer(_wave(burst, times_s), peaks)
        return total

    def _burst(self, rhythm: Rhythm, slot: int) -> Burst | None:
        share, factor = self._modulation(rhythm.name, slot * rhythm.slot_s)
        rng = generator(self._seed, rhythm.name, slot)
        chance, place, *rest = rng.uniform(size=6)
        if chance >= rhythm.share * share:
            return None
        lows_highs = (
            rhythm.duration_s,
            rhythm.frequency_hz,
            rhythm.peak_uv,
            (0.0, 2.0 * np.pi),
        )
        duration_s, frequency_hz, peak_uv, phase = (
            low + u * (high - low) for u, (low, high) in zip(rest, lows_highs, strict=True)
        )
        onset_s = slot * rhythm.slot_s + place * (rhythm.slot_s - duration_s)
        return Burst(rhythm.name, onset_s, duration_s, frequency_hz, peak_uv * factor, phase)


def _wave(burst: Burst, times_s: Floats) -> Floats:
    """Return the burst at unit amplitude: a sine under a window with raised-cosine ramps."""
    t = times_s - burst.onset_s
    u = t / burst.duration_s
    edge = np.clip(np.minimum(u, 1.0 - u) / RAMP, 0.0, 1.0)
    window = 0.5 - 0.5 * np.cos(np.pi * edge)
    return np.asarray(window * np.sin(2.0 * np.pi * burst.frequency_hz * t + burst.phase))


def _background_shape(sfreq: float, n_block: int, density_uv: float) -> NDArray[np.complex128]:
    """Response of the filter from unit white noise to 1/f power, level below 1 Hz.

    Its n_block + 1 taps are what overlap-save over two blocks allows.
    """
    frequencies = np.fft.rfftfreq(2 * n_block, 1.0 / sfreq)
    power = density_uv**2 * 10.0 / np.maximum(frequencies, 1.0)
    impulse = np.fft.irfft(np.sqrt(power * sfreq / 2.0), 2 * n_block)
    taps = np.roll(impulse, n_block // 2)
    taps[n_block + 1 :] = 0.0
    taps[: n_block + 1] *= np.hanning(n_block + 1)
    return np.asarray(np.fft.rfft(taps))
