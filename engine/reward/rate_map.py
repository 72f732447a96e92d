"""The rate over two thresholds at once: what the desk draws as a map, and lets be clicked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engine.chunk import Floats
from engine.reward.forecast import Forecaster
from engine.settings import Settings

N_SIDE = 41
_SHARES = (0.02, 0.98)


@dataclass(frozen=True, eq=False)
class RateMap:
    """``rates[i, j]`` is the rate with ``across`` at ``across_uv[j]`` and ``up`` at ``up_uv[i]``.

    ``across`` and ``up`` are bands; the thresholds ascend.
    """

    across: str
    up: str
    across_uv: Floats
    up_uv: Floats
    rates: Floats


def rate_map(
    forecaster: Forecaster, settings: Settings, across: str, up: str, n_side: int = N_SIDE
) -> RateMap:
    """Return the map over the plausible range of two bands' thresholds, today's inside it."""
    clear = forecaster.averaged(settings)[forecaster.window.clear]
    sides = []
    for band in (across, up):
        i = settings.bands.index(band)
        low, high = np.nanquantile(clear[:, i], _SHARES).tolist()
        now = settings.thresholds_uv[i]
        sides.append(np.linspace(min(low, now), max(high, now), n_side))
    rates = forecaster.grid(
        settings, settings.bands.index(up), sides[1], settings.bands.index(across), sides[0]
    )
    return RateMap(across, up, sides[0], sides[1], rates)
