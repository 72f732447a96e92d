"""Relative power of bands, and the ratio of two: whole, and minute by minute.

Relative power is a band's share of the power between 1 and 45 Hz. It answers another question
than amplitude: it rises as well when the rest falls, so it stands beside it and never in its place.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from engine.chunk import Floats
from engine.lookback.spectra import LEVEL, band_weights, drawn_means
from engine.lookback.windows import Windows

WHOLE_HZ = (1.0, 45.0)
Band = tuple[float, float]


@dataclass(frozen=True)
class Share:
    """A quotient of two powers with its interval; NaN where nothing tells it.

    ``low`` and ``high`` are NaN where there is too little signal to draw from.
    """

    value: float
    low: float
    high: float
    level: float = LEVEL


def relative_power(windows: Windows, band: Band, whole: Band = WHOLE_HZ, signal: int = 0) -> Share:
    """Return the share of the power of ``whole`` that lies in ``band``, 0-1."""
    return _quotient(windows, band, whole, signal)


def power_ratio(windows: Windows, over: Band, under: Band, signal: int = 0) -> Share:
    """Return the power of one band over that of another."""
    return _quotient(windows, over, under, signal)


def power_by_minute(windows: Windows, band: Band, signal: int = 0, n_minutes: int = 0) -> Floats:
    """Return the mean power of a band in every minute, (n_minutes,), µV²; NaN where not clear."""
    power = _band_power(windows, band, signal)
    minute = ((windows.start_s + windows.length_s / 2) // 60).astype(np.int64)
    n = max(n_minutes, int(minute.max()) + 1 if len(windows) else 0)
    counts = np.bincount(minute, minlength=n)
    sums = np.bincount(minute, weights=power, minlength=n)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(np.where(counts > 0, sums / counts, np.nan))


def _band_power(windows: Windows, band: Band, signal: int) -> Floats:
    return windows.power[:, :, signal] @ band_weights(windows.freqs_hz, *band)


def _quotient(windows: Windows, over: Band, under: Band, signal: int) -> Share:
    nan = float("nan")
    if not len(windows):
        return Share(nan, nan, nan)
    powers = np.column_stack([_band_power(windows, band, signal) for band in (over, under)])
    top, bottom = powers.mean(axis=0)
    if not bottom > 0:
        return Share(nan, nan, nan)
    value = float(top / bottom)
    drawn = drawn_means(windows, powers)
    if drawn is None or not value > 0:
        return Share(value, nan, nan)
    spread = np.std(np.log(drawn[:, 0] / drawn[:, 1]), ddof=1) * stats.norm.ppf((1 + LEVEL) / 2)
    return Share(value, float(value / np.exp(spread)), float(value * np.exp(spread)))
