"""Everything that a forecast shows, from one window: one step each way, sweeps, and the advice."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engine.reward.advice import Advice, advise
from engine.reward.forecast import Forecast, Forecaster
from engine.settings import Settings

SWEEP_POINTS = 21
SWEEP_SHARES = (0.05, 0.95)
"""A threshold's plausible range: from one of these shares of its clear amplitudes to the other."""


@dataclass(frozen=True)
class Candidate:
    """One setting at one value, and the rate it would give."""

    key: str
    value: float
    forecast: Forecast


@dataclass(frozen=True)
class Outlook:
    """``now`` is None, and nothing else said, while too little clear signal is there."""

    window_s: float
    clear_s: float
    now: Forecast | None
    one_step: tuple[Candidate, ...]
    sweeps: tuple[Candidate, ...]
    advice: Advice


def one_step_each_way(
    forecaster: Forecaster, settings: Settings, steps: dict[str, float]
) -> tuple[Candidate, ...]:
    """Return a candidate a nudge down and a nudge up for every key, where the range allows it."""
    found = []
    for key, step in steps.items():
        low, high, _ = settings.limits(key)
        for sign in (-1, 1):
            value = round(settings.value(key) + sign * step, 6)
            if low <= value <= high:
                changed = settings.changed(key, value)
                found.append(Candidate(key, value, forecaster.forecast(changed)))
    return tuple(found)


def sweep(forecaster: Forecaster, settings: Settings, band: str) -> tuple[Candidate, ...]:
    """Return candidates over a threshold's plausible range."""
    key = f"{band}.threshold"
    column = forecaster.averaged(settings)[forecaster.window.clear]
    values = column[:, settings.bands.index(band)]
    low, high, _ = settings.limits(key)
    first, last = np.clip(np.nanquantile(values, SWEEP_SHARES), low, high).tolist()
    found = []
    for value in np.linspace(first, last, SWEEP_POINTS).round(3).tolist():
        found.append(Candidate(key, value, forecaster.forecast(settings.changed(key, value))))
    return tuple(found)


def look_ahead(
    forecaster: Forecaster,
    settings: Settings,
    steps: dict[str, float],
    zone: tuple[float, float],
    above: tuple[bool, ...],
    muscle_raised: bool = False,
    sweeps: bool = True,
) -> Outlook:
    """Return the whole outlook. ``steps``: one nudge of every key, averaging among them."""
    window = forecaster.window
    window_s = window.clear.shape[0] * window.tick_s
    advised = {key: step for key, step in steps.items() if not key.endswith(".averaging")}
    advice = advise(forecaster, settings, advised, zone, above, muscle_raised)
    if not forecaster.enough:
        return Outlook(window_s, window.clear_s, None, (), (), advice)
    return Outlook(
        window_s,
        window.clear_s,
        advice.now,
        one_step_each_way(forecaster, settings, steps),
        tuple(c for band in settings.bands for c in sweep(forecaster, settings, band))
        if sweeps
        else (),
        advice,
    )
