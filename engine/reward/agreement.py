"""How far points given live are those that a look from both sides would have given."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from engine.chunk import Floats

WITHIN_S = 0.3
LAGS_S = np.arange(0.0, 0.5, 0.01)


class Agreement(NamedTuple):
    """``found``: share of true points with a live one near; ``false``: of live ones without."""

    found: float
    false: float
    lag_s: float


def agreement(given_s: Floats, true_s: Floats) -> Agreement:
    """Compare onsets in seconds, within 0.3 s, at the lag between 0 and 0.5 s that suits best."""
    best = Agreement(0.0, 1.0, 0.0)
    if not (given_s.size and true_s.size):
        return best
    for lag in LAGS_S.tolist():
        apart = np.abs(given_s[:, np.newaxis] - lag - true_s[np.newaxis, :])
        found = float((apart.min(axis=0) <= WITHIN_S).mean())
        false = float((apart.min(axis=1) > WITHIN_S).mean())
        if found - false > best.found - best.false:
            best = Agreement(found, false, lag)
    return best
