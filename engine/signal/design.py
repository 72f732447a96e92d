"""Complex FIR filters whose output is a band's analytic signal, at a chosen delay.

Weighted least squares: of all filters of the given length, the one whose response differs least,
summed over frequency with the power of a spectrum as weight, from twice the band on positive
frequencies, delayed. With the true spectrum as weight this is the Wiener solution at that delay
(Wiener 1949; textbook). Three linear constraints are met exactly: gain 0 at 0 Hz, so that an
electrode's offset moves nothing; gain 1 at the band's centre; and gain 0 at the centre's negative
frequency, so that a sine there reads its amplitude without a ripple.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_toeplitz

from engine.chunk import Floats

Complexes = NDArray[np.complex128]
Spectrum = Callable[[Floats], Floats]
Response = Callable[[Floats], Complexes]

TRANSITION_HZ = 1.5
"""Width on either side of the band where the design cares little."""

_N_FREQS = 8192


@dataclass(frozen=True)
class BandGoal:
    """What one filter is asked for. Hertz and seconds; ``delay_s`` counts from the sensor."""

    low_hz: float
    high_hz: float
    delay_s: float

    @property
    def centre_hz(self) -> float:
        return (self.low_hz + self.high_hz) / 2


def _weights_in_and_beside(delay_s: float) -> tuple[float, float]:
    """Return the weight factors inside the band and in the transitions, for a delay.

    At 200 ms the filter has little room: the transitions count almost fully. With more delay it
    can be asked to be flat: the in-band weight rises and the transitions are let go. Chosen on
    the response at 200 and 500 ms (tests/engine/signal/test_design.py holds the bounds).
    """
    ease = np.clip((delay_s - 0.2) / 0.3, 0.0, 1.0)
    return float(0.5 * 2.0**ease), float(0.4 * (0.005 / 0.4) ** ease)


def design_band(
    goal: BandGoal,
    sfreq: float,
    n_taps: int,
    spectrum: Spectrum,
    before: Response,
) -> Complexes:
    """Design the filter for one band.

    Parameters
    ----------
    sfreq : Hz, of the samples that the filter runs on.
    n_taps : length of the filter.
    spectrum : power at frequencies in Hz, the weight of the design.
    before : response, at frequencies in Hz, of what the samples passed before (the decimator);
        the design makes up for its gain and phase.

    Returns
    -------
    taps : (n_taps,), complex; ``taps[k]`` multiplies the sample k samples ago. The magnitude of
        the output is the amplitude, peak, of the band.
    """
    freqs = np.fft.fftfreq(_N_FREQS, 1 / sfreq).astype(np.float64)
    in_band = (freqs >= goal.low_hz) & (freqs <= goal.high_hz)
    beside = (freqs > goal.low_hz - TRANSITION_HZ) & (freqs < goal.high_hz + TRANSITION_HZ)
    beside &= ~in_band & (freqs > 0)
    inside_weight, beside_weight = _weights_in_and_beside(goal.delay_s)
    weights = spectrum(freqs)
    weights[in_band] *= inside_weight
    weights[beside] *= beside_weight
    wanted = np.where(in_band, 2 * np.exp(-2j * np.pi * freqs * goal.delay_s), 0)
    passed = before(freqs)

    column = np.fft.ifft(weights * np.abs(passed) ** 2)[:n_taps]
    target = np.fft.ifft(weights * np.conj(passed) * wanted)[:n_taps]
    lags = np.arange(n_taps) / sfreq
    centre = goal.centre_hz
    constraints = np.exp(-2j * np.pi * np.outer([0.0, centre, -centre], lags))
    at_centre = 2 * np.exp(-2j * np.pi * centre * goal.delay_s) / before(np.array([centre]))[0]
    met = np.array([0, at_centre, 0])
    solved = solve_toeplitz(
        (column, np.conj(column)), np.column_stack([target, constraints.conj().T])
    )
    free, pull = solved[:, 0], solved[:, 1:]
    taps: Complexes = free + pull @ np.linalg.solve(constraints @ pull, met - constraints @ free)
    taps -= taps.mean()  # what rounding left at 0 Hz: an offset of 100 mV must move nothing
    return taps


def response_of(taps: NDArray[np.generic], sfreq: float, freqs_hz: Floats) -> Complexes:
    """Return the complex response of FIR ``taps`` at each of ``freqs_hz``, shape (n_freqs,)."""
    lags = np.arange(taps.shape[0]) / sfreq
    response: Complexes = np.exp(-2j * np.pi * np.outer(freqs_hz, lags)) @ taps
    return response
