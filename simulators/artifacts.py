"""What hides a signal, as arrays to add to it: 1-D, microvolts, seeded by the generator given.

Every function takes ``sfreq`` (Hz), ``rng`` and ``site`` (a 10-20 label, which scales the size),
draws what it is not told, and returns (n_samples,). All but `step` and `line` end at zero, so
that `added` may put them anywhere.

Sizes: a blink is 100-400 µV at Fp1 and lasts 200-400 ms (textbooks); jaw muscle lies from 20 to
120 Hz and above, 20-100 µV; the rest is common practice.
"""

from __future__ import annotations

import math

import numpy as np

from engine.chunk import Floats
from simulators.sites import weights_at


def blink(
    sfreq: float,
    rng: np.random.Generator,
    site: str = "Fp1",
    peak_uv: float | None = None,
    duration_s: float | None = None,
) -> Floats:
    """One blink; ``peak_uv`` is its height at Fp1, whatever the site."""
    peak_uv = _drawn(rng, peak_uv, 100.0, 400.0)
    duration_s = _drawn(rng, duration_s, 0.2, 0.4)
    u = np.linspace(0.0, 1.0, _count(sfreq, duration_s))
    rise = 0.4  # the lid closes faster than it opens
    bent = np.where(u < rise, 0.5 * u / rise, 0.5 + 0.5 * (u - rise) / (1.0 - rise))
    shape = np.sin(np.pi * bent) ** 2
    return np.asarray(peak_uv * weights_at(site).blink * shape / shape.max())


def clench(
    sfreq: float,
    rng: np.random.Generator,
    site: str = "C4",
    rms_uv: float | None = None,
    duration_s: float | None = None,
) -> Floats:
    """A clench of the jaw: 20-100 µV RMS at C4, 0.3-1.5 s, sudden."""
    rms_uv = _drawn(rng, rms_uv, 20.0, 100.0)
    duration_s = _drawn(rng, duration_s, 0.3, 1.5)
    return _muscle(sfreq, rng, site, rms_uv, duration_s, ramp_s=0.03)


def jaw_tension(
    sfreq: float,
    rng: np.random.Generator,
    site: str = "C4",
    rms_uv: float | None = None,
    duration_s: float | None = None,
) -> Floats:
    """Mild tension of the jaw: 3-10 µV RMS at C4, 1-4 s, coming on slowly."""
    rms_uv = _drawn(rng, rms_uv, 3.0, 10.0)
    duration_s = _drawn(rng, duration_s, 1.0, 4.0)
    return _muscle(sfreq, rng, site, rms_uv, duration_s, ramp_s=0.3)


def pop(
    sfreq: float,
    rng: np.random.Generator,
    site: str = "C4",
    peak_uv: float | None = None,
    decay_s: float | None = None,
) -> Floats:
    """An electrode pop: a jump of 80-300 µV within one sample that decays in 0.1-0.5 s.

    It belongs to one sensor, so every site gives the same size; its sign is drawn.
    """
    peak_uv = _drawn(rng, peak_uv, 80.0, 300.0) * rng.choice((-1.0, 1.0))
    decay_s = _drawn(rng, decay_s, 0.1, 0.5)
    t = np.arange(_count(sfreq, 6.0 * decay_s)) / sfreq
    tail = np.exp(-t / decay_s)
    return np.asarray(peak_uv * (tail - tail[-1]) / (1.0 - tail[-1]))


def step(
    sfreq: float,
    rng: np.random.Generator,
    site: str = "C4",
    height_uv: float | None = None,
    duration_s: float = 2.0,
) -> Floats:
    """A jump of the baseline by 60-300 µV that stays; its sign is drawn, one sensor's alone."""
    height_uv = _drawn(rng, height_uv, 60.0, 300.0) * rng.choice((-1.0, 1.0))
    return np.full(_count(sfreq, duration_s), height_uv)


def movement(
    sfreq: float,
    rng: np.random.Generator,
    site: str = "C4",
    peak_uv: float | None = None,
    duration_s: float | None = None,
) -> Floats:
    """A movement of head or lead: a swing at 0.5-2 Hz of 100-300 µV, 1-3 s, at every site."""
    peak_uv = _drawn(rng, peak_uv, 100.0, 300.0)
    duration_s = _drawn(rng, duration_s, 1.0, 3.0)
    frequency_hz = rng.uniform(0.5, 2.0)
    t = np.arange(_count(sfreq, duration_s)) / sfreq
    swing = np.sin(2.0 * np.pi * frequency_hz * t + rng.uniform(0.0, 2.0 * np.pi))
    shape = swing * np.hanning(t.size)
    return np.asarray(peak_uv * shape / np.abs(shape).max())


def drift(
    sfreq: float,
    rng: np.random.Generator,
    site: str = "C4",
    peak_uv: float | None = None,
    duration_s: float = 60.0,
) -> Floats:
    """Slow drift of sweat or drying paste: below 0.15 Hz, 50-200 µV, zero at both ends."""
    peak_uv = _drawn(rng, peak_uv, 50.0, 200.0)
    t = np.arange(_count(sfreq, duration_s)) / sfreq
    waves = sum(
        rng.standard_normal() * np.sin(2.0 * np.pi * f * t + rng.uniform(0.0, 2.0 * np.pi))
        for f in (0.02, 0.05, 0.09, 0.15)
    )
    shape = waves * np.sin(np.pi * np.linspace(0.0, 1.0, t.size))
    return np.asarray(peak_uv * shape / np.abs(shape).max())


def line(
    sfreq: float,
    n_samples: int,
    mains_hz: float = 50.0,
    peak_uv: float = 5.0,
    start: int = 0,
) -> Floats:
    """Line noise from sample ``start`` on: the mains and a tenth of it at the third harmonic."""
    cycles = mains_hz * np.arange(start, start + n_samples) / sfreq
    wave = np.sin(2.0 * np.pi * cycles)
    if 3.0 * mains_hz < sfreq / 2.0:
        wave = wave + 0.1 * np.sin(6.0 * np.pi * cycles)
    return np.asarray(peak_uv * wave)


def added(signal: Floats, onset: int, artifact: Floats) -> Floats:
    """Return ``signal`` (n_samples,) with ``artifact`` from sample ``onset`` on.

    What reaches past the end is cut; the artifact's last value is held to the signal's end, so
    that a step stays (the others end at zero).
    """
    changed = signal.copy()
    end = min(signal.size, onset + artifact.size)
    changed[onset:end] += artifact[: end - onset]
    changed[end:] += artifact[-1]
    return changed


def _muscle(
    sfreq: float,
    rng: np.random.Generator,
    site: str,
    rms_uv: float,
    duration_s: float,
    ramp_s: float,
) -> Floats:
    """Noise from 20 to 120 Hz (to 0.95 of half the rate where that is less), ramped at its ends.

    ``rms_uv`` is the RMS between the ramps, at C4.
    """
    n = _count(sfreq, duration_s)
    frequencies = np.fft.rfftfreq(n, 1.0 / sfreq)
    spectrum = rng.standard_normal(frequencies.size) + 1j * rng.standard_normal(frequencies.size)
    spectrum[(frequencies < 20.0) | (frequencies > min(120.0, 0.95 * sfreq / 2.0))] = 0.0
    noise = np.fft.irfft(spectrum, n)
    noise *= rms_uv * weights_at(site).muscle / math.sqrt(np.mean(noise**2))
    n_ramp = min(_count(sfreq, ramp_s), n // 2)
    ramp = np.ones(n)
    ramp[:n_ramp] = np.linspace(0.0, 1.0, n_ramp)
    ramp[n - n_ramp :] = np.linspace(1.0, 0.0, n_ramp)
    return np.asarray(noise * ramp)


def _drawn(rng: np.random.Generator, value: float | None, low: float, high: float) -> float:
    return float(rng.uniform(low, high)) if value is None else value


def _count(sfreq: float, seconds: float) -> int:
    return max(2, round(sfreq * seconds))
