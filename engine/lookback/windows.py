"""Clear signal cut into overlapping windows, each with its spectrum: what every spectrum stands on.

Windows of two seconds, Hann, half overlapping, the mean taken out of each (Welch 1967). A window
with one hidden sample is left out, so that no blink is smeared over a spectrum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Floats

WINDOW_S = 2.0
OVERLAP = 0.5
TOP_HZ = 100.0
"""Above it nothing is kept: no band and no muscle measure lies there."""


@dataclass(frozen=True, eq=False)
class Windows:
    """Spectra of clear windows, in order of time.

    Attributes
    ----------
    freqs_hz : (n_freqs,), from 0. start_s : (n_windows,), seconds since the first sample.
    spectra : (n_windows, n_freqs, n_signals), complex; the squared size is µV²/Hz, one-sided.
    length_s : of one window. taper : (n_samples,), what each was weighted by.
    sfreq : Hz.
    """

    freqs_hz: Floats
    start_s: Floats
    spectra: NDArray[np.complex128]
    length_s: float
    taper: Floats
    sfreq: float

    def __len__(self) -> int:
        return int(self.start_s.shape[0])

    @property
    def power(self) -> Floats:
        """Return (n_windows, n_freqs, n_signals), µV²/Hz."""
        return np.asarray(np.square(self.spectra.real) + np.square(self.spectra.imag))

    @property
    def clear_s(self) -> float:
        """Time that at least one window covers."""
        if not len(self):
            return 0.0
        steps = np.minimum(np.diff(self.start_s), self.length_s)
        return float(steps.sum() + self.length_s)

    def between(self, start_s: float, stop_s: float) -> Windows:
        """Return the windows that lie wholly between two times."""
        slack = 0.5 / self.sfreq
        inside = (self.start_s >= start_s - slack) & (
            self.start_s + self.length_s <= stop_s + slack
        )
        return replace(self, start_s=self.start_s[inside], spectra=self.spectra[inside])


def windows_of(
    samples_uv: Floats,
    clear: NDArray[np.bool_],
    sfreq: float,
    start_s: float = 0.0,
    window_s: float = WINDOW_S,
) -> Windows:
    """Cut unbroken samples into windows.

    Parameters
    ----------
    samples_uv : (n_samples, n_signals), microvolts. clear : (n_samples,), False where hidden.
    start_s : time of the first sample.
    """
    n = round(window_s * sfreq)
    hop = max(1, round(n * (1 - OVERLAP)))
    taper: Floats = np.sin(np.pi * np.arange(n) / n) ** 2
    freqs = np.asarray(np.fft.rfftfreq(n, 1 / sfreq), dtype=np.float64)
    kept = freqs <= TOP_HZ
    scale = np.full(freqs.shape, np.sqrt(2 / (sfreq * np.square(taper).sum())))
    scale[0] /= np.sqrt(2)
    if n % 2 == 0:
        scale[-1] /= np.sqrt(2)
    hidden = np.concatenate([[0], np.cumsum(~clear)])
    firsts = np.arange(0, max(0, samples_uv.shape[0] - n + 1), hop)
    firsts = firsts[hidden[firsts + n] == hidden[firsts]]
    spectra = np.empty((firsts.shape[0], int(kept.sum()), samples_uv.shape[1]), np.complex128)
    for i, first in enumerate(firsts.tolist()):
        piece = samples_uv[first : first + n]
        piece = (piece - piece.mean(axis=0)) * taper[:, np.newaxis]
        spectra[i] = (np.fft.rfft(piece, axis=0) * scale[:, np.newaxis])[kept]
    return Windows(freqs[kept], start_s + firsts / sfreq, spectra, n / sfreq, taper, sfreq)


def joined(parts: Sequence[Windows]) -> Windows:
    """Join the windows of segments that follow each other; ValueError where there are none."""
    if not parts:
        raise ValueError("no windows to join")
    return replace(
        parts[0],
        start_s=np.concatenate([part.start_s for part in parts]),
        spectra=np.concatenate([part.spectra for part in parts]),
    )


def independent_windows(windows: Windows) -> float:
    """Return how many windows without overlap tell as much as these.

    After Welch (1967): for steady noise the correlation of two windows' powers is the square of
    the tapers' own overlap, and the mean of K windows varies as the sum of all those correlations
    says. Windows that a hidden stretch keeps apart are counted at their true distance.
    """
    n_windows = len(windows)
    if not n_windows:
        return 0.0
    n = windows.taper.shape[0]
    at = np.round(windows.start_s * windows.sfreq).astype(np.int64)
    energy = float(np.square(windows.taper).sum())
    total = float(n_windows)
    for apart in range(1, n_windows):
        lag = at[apart:] - at[:-apart]
        near = lag[lag < n]
        if not near.shape[0]:
            break
        lags, counts = np.unique(near, return_counts=True)
        for one, count in zip(lags.tolist(), counts.tolist(), strict=True):
            shared = float(windows.taper[one:] @ windows.taper[: n - one]) / energy
            total += 2 * count * shared**2
    return n_windows**2 / total
