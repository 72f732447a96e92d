"""Power spectra with intervals, and the picture of power over time and frequency.

Two intervals are made and the wider is given at each frequency: chi-square, right for steady
noise of this spectrum, and a bootstrap of stretches of ten seconds, which knows that rhythms come
in bursts and that people drift. Both count overlapping windows for what they are worth.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from engine.chunk import Floats
from engine.lookback.windows import Windows, independent_windows

LEVEL = 0.95
STRETCH_S = 10.0
"""Length of the stretches that are drawn again: longer than any burst."""

FEWEST_STRETCHES = 8
"""With fewer, drawing again says nothing, and the chi-square interval stands alone."""

N_DRAWS = 400


@dataclass(frozen=True, eq=False)
class Spectrum:
    """Mean power of clear windows.

    Attributes
    ----------
    freqs_hz : (n_freqs,). psd, low, high : (n_freqs, n_signals), µV²/Hz; NaN without windows.
    n_windows : averaged. n_independent : what they are worth. clear_s : the signal they cover.
    level : of the interval from ``low`` to ``high``, at each frequency by itself.
    """

    freqs_hz: Floats
    psd: Floats
    low: Floats
    high: Floats
    n_windows: int
    n_independent: float
    clear_s: float
    level: float = LEVEL

    def band_power(self, low_hz: float, high_hz: float) -> Floats:
        """Return the power within a band, (n_signals,), µV²; its edges take part by half."""
        return band_weights(self.freqs_hz, low_hz, high_hz) @ self.psd


@dataclass(frozen=True, eq=False)
class PowerPicture:
    """Power over time and frequency of one signal.

    Attributes
    ----------
    edges_s : (n_columns + 1,). freqs_hz : (n_freqs,).
    level_db : (n_columns, n_freqs), dB re 1 µV²/Hz; NaN where nothing was clear.
    """

    edges_s: Floats
    freqs_hz: Floats
    level_db: Floats


def band_weights(freqs_hz: Floats, low_hz: float, high_hz: float) -> Floats:
    """Return what each frequency counts in a band's power, (n_freqs,), Hz.

    Every line of the spectrum stands for the frequencies half a step to each side.
    """
    step = freqs_hz[1] - freqs_hz[0]
    below = np.clip(freqs_hz - step / 2, low_hz, high_hz)
    above = np.clip(freqs_hz + step / 2, low_hz, high_hz)
    return np.asarray(above - below)


def spectrum_of(windows: Windows, level: float = LEVEL, seed: int = 0) -> Spectrum:
    """Return the mean spectrum of windows with its interval; see the top of this file."""
    power = windows.power
    shape = power.shape[1:]
    nothing = np.full(shape, np.nan)
    n_independent = independent_windows(windows)
    if not len(windows):
        return Spectrum(windows.freqs_hz, nothing, nothing, nothing, 0, 0.0, 0.0, level)
    psd = power.mean(axis=0)
    low, high = chi_square_interval(psd, n_independent, level)
    drawn = drawn_means(windows, power, seed)
    if drawn is not None:
        tail = (1 - level) / 2
        with np.errstate(divide="ignore"):
            spread = np.std(np.log(drawn), axis=0, ddof=1) * stats.norm.ppf(1 - tail)
        low, high = np.minimum(low, psd / np.exp(spread)), np.maximum(high, psd * np.exp(spread))
    return Spectrum(
        windows.freqs_hz, psd, low, high, len(windows), n_independent, windows.clear_s, level
    )


def chi_square_interval(
    psd: Floats, n_independent: float, level: float = LEVEL
) -> tuple[Floats, Floats]:
    """Return (low, high) of the mean of so many independent windows of steady noise."""
    freedom = 2 * n_independent
    tail = (1 - level) / 2
    low = psd * freedom / stats.chi2.ppf(1 - tail, freedom)
    high = psd * freedom / stats.chi2.ppf(tail, freedom)
    return np.asarray(low), np.asarray(high)


def drawn_means(windows: Windows, values: Floats, seed: int = 0) -> Floats | None:
    """Draw stretches of time again, and return the mean of ``values`` in each draw.

    ``values`` is (n_windows, ...), the answer (N_DRAWS, ...); None with too few stretches.
    """
    stretch = (windows.start_s // STRETCH_S).astype(np.int64)
    _, place, counts = np.unique(stretch, return_inverse=True, return_counts=True)
    n = counts.shape[0]
    if n < FEWEST_STRETCHES:
        return None
    sums = np.zeros((n, *values.shape[1:]))
    np.add.at(sums, place, values)
    chosen = np.random.default_rng(seed).multinomial(n, np.full(n, 1 / n), size=N_DRAWS)
    totals = np.tensordot(chosen.astype(np.float64), sums, axes=1)
    shape = (N_DRAWS,) + (1,) * (values.ndim - 1)
    return np.asarray(totals / (chosen @ counts).reshape(shape))


def power_picture(
    windows: Windows, end_s: float, signal: int = 0, most_columns: int = 240, top_hz: float = 45.0
) -> PowerPicture:
    """Return power over time, from 0 to ``end_s``, in columns of whole seconds."""
    step_s = max(2.0, float(np.ceil(end_s / most_columns)))
    edges = np.arange(0.0, end_s + step_s, step_s)
    shown = (windows.freqs_hz >= 1.0) & (windows.freqs_hz <= top_hz)
    power = windows.power[:, shown, signal]
    column = np.floor((windows.start_s + windows.length_s / 2) / step_s).astype(np.int64)
    inside = (column >= 0) & (column < edges.shape[0] - 1)
    sums = np.zeros((edges.shape[0] - 1, power.shape[1]))
    np.add.at(sums, column[inside], power[inside])
    counts = np.bincount(column[inside], minlength=sums.shape[0])[:, np.newaxis]
    with np.errstate(divide="ignore", invalid="ignore"):
        level = 10 * np.log10(np.where(counts > 0, sums / counts, np.nan))
    return PowerPicture(edges, windows.freqs_hz[shown], level)
