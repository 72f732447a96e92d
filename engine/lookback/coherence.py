"""What two channels share: magnitude-squared coherence and phase, with what chance alone gives.

Coherence at the scalp is raised by a common reference and by volume conduction, with a phase
near zero; the report says so beside the figure.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from engine.chunk import Floats
from engine.lookback.spectra import LEVEL, band_weights
from engine.lookback.windows import Windows, independent_windows


@dataclass(frozen=True, eq=False)
class Coherence:
    """Of two signals, at each frequency.

    Attributes
    ----------
    freqs_hz : (n_freqs,). coherence, low, high : (n_freqs,), 0-1; NaN with fewer than two windows.
    phase_rad : (n_freqs,), positive where the first signal is ahead of the second.
    phase_half_rad : (n_freqs,), half of the phase's interval; pi where it may be anything.
    chance : coherence that unrelated noise exceeds at a frequency in one case of twenty.
    n_independent : what the windows are worth.
    """

    freqs_hz: Floats
    coherence: Floats
    low: Floats
    high: Floats
    phase_rad: Floats
    phase_half_rad: Floats
    chance: float
    n_independent: float


@dataclass(frozen=True)
class BandCoherence:
    """Of two signals over a band: the cross spectrum summed first, then its size and phase."""

    coherence: float
    phase_rad: float


def coherence_of(windows: Windows, first: int = 0, second: int = 1) -> Coherence:
    """Return coherence and phase of two signals of the same windows.

    The interval is that of Fisher's z of the coherence's root, var 1/(2 K) for K independent
    windows (Enochson and Goodman 1965; from memory); the chance level 1 - 0.05^(1/(K - 1)) is
    that of unrelated signals (Halliday et al. 1995, from memory).
    """
    cross, one, other = _means(windows, first, second)
    n = independent_windows(windows)
    if n <= 1.5:
        nothing = np.full(windows.freqs_hz.shape, np.nan)
        return Coherence(windows.freqs_hz, *(nothing,) * 5, float("nan"), n)
    with np.errstate(divide="ignore", invalid="ignore"):
        coherence = np.clip(np.abs(cross) ** 2 / (one * other), 0, 1)
    z = np.arctanh(np.clip(np.sqrt(coherence), 0, 1 - 1e-12))
    wide = stats.norm.ppf((1 + LEVEL) / 2)
    half = wide / np.sqrt(2 * n)
    low, high = np.tanh(np.maximum(z - half, 0)) ** 2, np.tanh(z + half) ** 2
    with np.errstate(divide="ignore"):
        spread = wide * np.sqrt((1 / np.maximum(coherence, 1e-12) - 1) / (2 * n))
    return Coherence(
        freqs_hz=windows.freqs_hz,
        coherence=coherence,
        low=low,
        high=high,
        phase_rad=np.angle(cross),
        phase_half_rad=np.minimum(spread, np.pi),
        chance=float(1 - (1 - LEVEL) ** (1 / (n - 1))),
        n_independent=n,
    )


def band_coherence(
    windows: Windows, band: tuple[float, float], first: int = 0, second: int = 1
) -> BandCoherence:
    """Return coherence and phase over a band; NaN without two windows."""
    if len(windows) < 2:
        return BandCoherence(float("nan"), float("nan"))
    weights = band_weights(windows.freqs_hz, *band)
    cross, one, other = (weights @ part for part in _means(windows, first, second))
    return BandCoherence(float(abs(cross) ** 2 / (one * other).real), float(np.angle(cross)))


def _means(windows: Windows, first: int, second: int) -> tuple[Floats, Floats, Floats]:
    """Return the cross spectrum, complex, and both powers, (n_freqs,) each."""
    if not len(windows):
        nothing = np.full(windows.freqs_hz.shape, np.nan)
        return nothing, nothing, nothing
    one, other = windows.spectra[:, :, first], windows.spectra[:, :, second]
    power = windows.power.mean(axis=0)
    cross = (one * other.conj()).mean(axis=0)
    return cross, power[:, first], power[:, second]
