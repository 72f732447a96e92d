"""The one change that brings the rate into the zone with the least departure from today.

Departure is counted in what a change means: a threshold's in spreads of its own amplitude, a
time's in the steps that the trade takes (hold 0.25 s, quiet time 0.5 s; common practice, as with
0.5 to 0.75 s). Averaging is left out: it changes what a point means, not how hard it is.

Nothing is advised while the rate is in the zone, or while too little is known to tell. Easing an
inhibit band is never advised while muscle is raised: the client would be paid for tension.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from engine.reward.forecast import Forecast, Forecaster
from engine.settings import Settings

HOLD_UNIT_S = 0.25
QUIET_UNIT_S = 0.5
MOST_DEPARTURE = 2.0
EDGE_SHARE = 0.25
"""A change is to bring the rate this share of the zone's width inside it: a rate at the very edge
is out again with the next minute's noise."""

MOST_SHARE = 0.4
"""No threshold is advised further than this share of itself away: a spread may be large."""

MOST_STEPS = 60


@dataclass(frozen=True)
class Change:
    """One setting at another value, and what the rate would be; ``departure`` has no unit."""

    key: str
    value: float
    forecast: Forecast
    departure: float


@dataclass(frozen=True)
class Advice:
    """``change`` is None where none is advised; ``reason`` then says why, in a few words."""

    now: Forecast | None
    change: Change | None
    runner_up: Change | None
    reason: str


def advise(
    forecaster: Forecaster,
    settings: Settings,
    steps: dict[str, float],
    zone: tuple[float, float],
    above: tuple[bool, ...],
    muscle_raised: bool = False,
) -> Advice:
    """Return the advice for a window.

    ``steps`` holds one nudge of each key that may be changed; only whole nudges are advised.
    """
    if not forecaster.enough:
        clear_s = forecaster.window.clear_s
        return Advice(None, None, None, f"too little clear signal to tell ({clear_s:.0f} s)")
    now = forecaster.forecast(settings)
    low, high = zone
    if low <= now.rate <= high:
        return Advice(now, None, None, "leave it: the rate is in the zone")
    if now.low <= low and high <= now.high:
        return Advice(now, None, None, "leave it: the rate may well be in the zone")
    harder = now.rate > high
    found = [
        change
        for key in steps
        if not (muscle_raised and _eases_inhibit(key, settings, above, harder))
        for change in [_least(forecaster, settings, key, steps[key], zone, above, harder)]
        if change is not None
    ]
    found.sort(key=lambda change: change.departure)
    if not found:
        why = "no single change reaches the zone"
        if muscle_raised:
            why += " without paying for muscle"
        return Advice(now, None, None, why)
    return Advice(now, found[0], found[1] if len(found) > 1 else None, "")


def _eases_inhibit(key: str, settings: Settings, above: tuple[bool, ...], harder: bool) -> bool:
    band, _, kind = key.partition(".")
    return kind == "threshold" and not harder and not above[settings.bands.index(band)]


def _least(
    forecaster: Forecaster,
    settings: Settings,
    key: str,
    step: float,
    zone: tuple[float, float],
    above: tuple[bool, ...],
    harder: bool,
) -> Change | None:
    """Return the fewest nudges of one setting that reach well into the zone, or None."""
    unit = _unit(forecaster, settings, key)
    margin = (zone[1] - zone[0]) * EDGE_SHARE
    inner = (zone[0] + margin, zone[1] - margin)
    for value in _values(settings, key, step, above, harder):
        departure = abs(value - settings.value(key)) / unit
        far = "." in key and abs(value / settings.value(key) - 1) > MOST_SHARE
        if far or departure > MOST_DEPARTURE:
            return None
        rate = forecaster.rate(settings.changed(key, value))
        if inner[0] <= rate <= inner[1]:
            forecast = forecaster.forecast(settings.changed(key, value))
            return Change(key, value, forecast, departure)
        if (rate < inner[0]) == harder:
            return None  # stepped over it
    return None


def direction_of_harder(key: str, settings: Settings, above: tuple[bool, ...]) -> int:
    """Return +1 where a larger value makes points rarer, -1 where a smaller one does."""
    band, _, kind = key.partition(".")
    if kind == "threshold":
        return 1 if above[settings.bands.index(band)] else -1
    return 1


def _values(
    settings: Settings, key: str, step: float, above: tuple[bool, ...], harder: bool
) -> Iterator[float]:
    sign = direction_of_harder(key, settings, above) * (1 if harder else -1)
    low, high, _ = settings.limits(key)
    for n in range(1, MOST_STEPS + 1):
        value = round(settings.value(key) + sign * n * step, 6)
        if not low <= value <= high:
            return
        yield value


def _unit(forecaster: Forecaster, settings: Settings, key: str) -> float:
    if key == "hold":
        return HOLD_UNIT_S
    if key == "quiet":
        return QUIET_UNIT_S
    amplitudes = forecaster.averaged(settings)[forecaster.window.clear]
    spread = np.nanstd(amplitudes[:, settings.bands.index(key.partition(".")[0])])
    return float(spread) or 1.0
