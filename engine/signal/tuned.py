"""The analytic filters again, weighted by the client's own spectrum: `tuned`.

The weight is Welch's estimate of the clear signal, smoothed over 1 Hz, set on the same scale as
the typical spectrum, and nowhere below a share of it: a floor and the mains allowance stay
whatever the client's minutes held. Above 45 Hz, where an amplifier's filter would make the
client's spectrum a licence to pass anything, the typical one stands.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy import signal

from engine.chunk import Floats
from engine.signal.amplitude import AnalyticFir, design_fir
from engine.signal.design import BandGoal, Spectrum
from engine.signal.grid import Grid
from engine.signal.spectrum import typical_eeg

LEAST_CLEAR_S = 60.0
"""So much clear signal is needed; with less, the typical spectrum stands."""

SEGMENT_S = 2.0
FLOOR_SHARE = 0.1
_OWN_HZ = (1.0, 45.0)
_FADE_HZ = 5.0


def own_spectrum(pieces: list[Floats], sfreq: float) -> Spectrum:
    """Return the weight for a client, from unbroken pieces of clear signal, each (n_samples,) µV.

    Each must last at least `SEGMENT_S`, and there must be one.
    """
    n_segment = round(SEGMENT_S * sfreq)
    spectra, lengths = [], []
    for piece in pieces:
        freqs, power = signal.welch(piece, sfreq, nperseg=n_segment)
        spectra.append(power)
        lengths.append(piece.shape[0])
    power = np.average(spectra, axis=0, weights=lengths)
    power = np.convolve(power, [0.25, 0.5, 0.25], "same")
    low, high = _OWN_HZ
    own = (freqs >= low) & (freqs <= high)
    typical = typical_eeg(freqs)
    power = power * np.exp(np.mean(np.log(typical[own]) - np.log(np.maximum(power[own], 1e-12))))

    def weight(at_hz: Floats) -> Floats:
        hertz = np.abs(at_hz)
        known = np.interp(hertz, freqs, power)
        ordinary = typical_eeg(hertz)
        inside = np.clip((high - hertz) / _FADE_HZ, 0, 1) * (hertz >= low)
        mixed = np.exp(inside * np.log(np.maximum(known, 1e-12)) + (1 - inside) * np.log(ordinary))
        return np.asarray(np.maximum(mixed, FLOOR_SHARE * ordinary))

    return weight


def tuned(grid: Grid, goals: tuple[BandGoal, ...], pieces: list[Floats]) -> AnalyticFir:
    """Design the filters for a client; see `own_spectrum` for ``pieces``, at the decimated rate."""
    weight = own_spectrum(pieces, grid.sfreq_decimated)
    return replace(design_fir(grid, goals, weight), name="tuned")
