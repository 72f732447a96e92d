"""What a client's last session ended with, as it was and rescaled by today's baseline."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

import numpy as np

from engine.protocol import SCALES
from engine.settings import THRESHOLD_UV, is_threshold


@dataclass(frozen=True)
class LastTime:
    """The end of an earlier session of the same client and protocol.

    Attributes
    ----------
    session : its ID.
    settings : pairs of a setting's key and its value, thresholds in ``scale``, microvolts.
    baseline_uv : pairs of a band and its mean in the baseline before, in ``scale``; empty where
        there was none.
    rate : points a minute of clear time; ``clear_share``, 0-1; both None where unknown.
    """

    session: str
    settings: tuple[tuple[str, float], ...]
    baseline_uv: tuple[tuple[str, float], ...] = ()
    rate: float | None = None
    clear_share: float | None = None
    scale: str = "peak"


def as_it_was(last: LastTime, scale: str) -> tuple[tuple[str, float], ...]:
    """Return its settings, thresholds on today's ``scale``."""
    factor = SCALES[scale] / SCALES[last.scale]
    return tuple(
        (key, round(value * factor, 2) if is_threshold(key) else value)
        for key, value in last.settings
    )


def rescaled(
    last: LastTime, today_uv: dict[str, float], scale: str
) -> tuple[tuple[str, float], ...] | None:
    """Return its settings, each threshold moved as its band's baseline moved since.

    ``today_uv`` holds the means of today's baseline by band, in ``scale``. A threshold whose band
    has no baseline, then or today, stays as it was; None where that goes for all of them.
    """
    factor = SCALES[scale] / SCALES[last.scale]
    then_uv = {band: mean * factor for band, mean in last.baseline_uv}
    low, high = THRESHOLD_UV
    found: list[tuple[str, float]] = []
    any_moved = False
    for key, value in as_it_was(last, scale):
        band = key.removesuffix(".threshold")
        then, today = then_uv.get(band, 0.0), today_uv.get(band, 0.0)
        if is_threshold(key) and _usable(then) and _usable(today):
            value = round(float(np.clip(value * today / then, low, high)), 2)
            any_moved = True
        found.append((key, value))
    return tuple(found) if any_moved else None


def _usable(mean_uv: float) -> bool:
    return isfinite(mean_uv) and mean_uv > 0
