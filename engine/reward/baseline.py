"""Starting thresholds from a baseline: by the share of time each band should meet, and a rate.

Inhibit bands get the threshold that they meet for their share of the clear time. The reward
bands' shares are then moved together until the points come at the rate that is asked for. What
would happen if the bands were independent of each other is told beside what does happen: bands
share sources, blinks and moods, and a product of shares misleads.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engine.chunk import Floats
from engine.errors import bad_value
from engine.reward.forecast import Forecast, Forecaster
from engine.settings import Settings

REWARD_SHARE, INHIBIT_SHARE = 0.6, 0.8
"""Share of time met where none is asked for (Ros et al. 2009, from memory)."""

SHARES = (0.02, 0.98)
_N_TRIED = 97
_SHIFTS = 8


@dataclass(frozen=True)
class Start:
    """Settings to start with.

    ``shares`` is the share of clear time each condition is met at them; ``independent_rate`` is
    what the same shares would give if no band knew of another.
    """

    settings: Settings
    forecast: Forecast
    shares: tuple[float, ...]
    independent_rate: float


def starting_thresholds(
    forecaster: Forecaster,
    settings: Settings,
    above: tuple[bool, ...],
    target_rate: float | None = None,
    shares: dict[str, float] | None = None,
) -> Start:
    """Return thresholds for the shares, the reward bands' moved to reach ``target_rate``.

    Without a target the shares are taken as they are. ConfigError where a share is not between
    0.02 and 0.98, or a target not above 0.
    """
    wanted = [
        (shares or {}).get(band, REWARD_SHARE if is_above else INHIBIT_SHARE)
        for band, is_above in zip(settings.bands, above, strict=True)
    ]
    low, high = SHARES
    for band, share in zip(settings.bands, wanted, strict=True):
        if not low <= share <= high:
            raise bad_value(f"{band} share", share, f"{low:g} to {high:g}", "choose one between")
    if target_rate is not None and not target_rate > 0:
        raise bad_value("target rate", target_rate, "a number above 0", "choose one")
    amplitudes = forecaster.averaged(settings)[forecaster.window.clear]
    at_shares = _with_shares(settings, amplitudes, above, wanted)
    if target_rate is not None and any(above):
        tried = []
        for share in np.linspace(low, high, _N_TRIED).tolist():
            moved = [
                share if is_above else own for own, is_above in zip(wanted, above, strict=True)
            ]
            tried.append(_with_shares(settings, amplitudes, above, moved))
        rates = np.array([forecaster.rate(option) for option in tried])
        at_shares = tried[_nearest(rates, target_rate)]
    met = _met(amplitudes, at_shares, above)
    return Start(
        settings=at_shares,
        forecast=forecaster.forecast(at_shares),
        shares=tuple(met.mean(axis=0).tolist()),
        independent_rate=_independent_rate(forecaster, at_shares, above),
    )


def _nearest(rates: Floats, target: float) -> int:
    """Return the place nearest the target; of several alike, the middle one."""
    away = np.abs(rates - target)
    best = np.flatnonzero(away == away.min())
    return int(best[len(best) // 2])


def _with_shares(
    settings: Settings, amplitudes: Floats, above: tuple[bool, ...], shares: list[float]
) -> Settings:
    for i, (band, is_above) in enumerate(zip(settings.bands, above, strict=True)):
        key = f"{band}.threshold"
        low, high, _ = settings.limits(key)
        at = 1 - shares[i] if is_above else shares[i]
        value = float(np.clip(np.nanquantile(amplitudes[:, i], at), low, high))
        settings = settings.changed(key, round(value, 2))
    return settings


def _met(amplitudes: Floats, settings: Settings, above: tuple[bool, ...]) -> np.ndarray:
    thresholds = np.array(settings.thresholds_uv)
    return np.where(above, amplitudes >= thresholds, amplitudes <= thresholds)


def _independent_rate(forecaster: Forecaster, settings: Settings, above: tuple[bool, ...]) -> float:
    """Return the mean rate with the bands' courses moved against each other around the window."""
    n_ticks = forecaster.window.clear.shape[0]
    n_bands = len(above)
    rates = []
    for shift in range(1, _SHIFTS + 1):
        turn = [round(n_ticks * i * shift / (_SHIFTS * n_bands + 1)) for i in range(n_bands)]
        rates.append(forecaster.turned(turn).rate(settings))
    return float(np.mean(rates))
