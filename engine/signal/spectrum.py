"""The typical spectrum of the resting EEG that weights the design of the default filters.

Only its shape matters. It falls with the square of the frequency above 1 Hz, carries a small
alpha hill (alpha next door to SMR and theta is what a filter must keep out first), a floor (the
amplifier's noise and whatever else no model holds), and an allowance at 50 and 60 Hz, without
which a design by least squares may pass the mains at several times its size.
"""

from __future__ import annotations

import numpy as np

from engine.chunk import Floats

_KNEE_HZ = 1.0
_ALPHA = (0.05, 10.0, 1.5)  # height, centre, spread
_FLOOR = 1e-3
_MAINS = 0.02
_MAINS_HZ = (50.0, 60.0)
_MAINS_SPREAD_HZ = 1.0


def typical_eeg(freqs_hz: Floats) -> Floats:
    """Return power, relative to that below 1 Hz, at each frequency; any shape in, same out."""
    freqs = np.abs(freqs_hz)
    height, centre, spread = _ALPHA
    power = 1.0 / (1.0 + (freqs / _KNEE_HZ) ** 2)
    power += height * np.exp(-0.5 * ((freqs - centre) / spread) ** 2)
    power += _FLOOR
    for mains in _MAINS_HZ:
        power += _MAINS * np.exp(-0.5 * ((freqs - mains) / _MAINS_SPREAD_HZ) ** 2)
    return power
