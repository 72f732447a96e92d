"""Thresholds to start with, found in a file as in a baseline: what is asked for, what is said."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from engine.errors import ConfigError, bad_value
from engine.protocol import Protocol
from engine.reward.baseline import SHARES, Start, starting_thresholds
from engine.reward.forecast import Forecaster
from engine.reward.rate import ceiling
from ui.verbs.choices import read_changes

NEAR = 1.0
"""A target is reached where the rate comes as near as this, points a minute."""


@dataclass(frozen=True)
class Wanted:
    """A rate, points a minute (None: the shares alone), and shares of time by band, 0-1."""

    target: float | None
    shares: dict[str, float]


def read_wanted(target: float | None, texts: list[str] | None, protocol: Protocol) -> Wanted | None:
    """Read ``--target`` and every ``--share``; None where neither is given, ConfigError if wrong.

    A target has to lie below the ceiling of the protocol's hold and quiet time.
    """
    if target is None and not texts:
        return None
    settings = protocol.settings
    most = ceiling(settings.hold_s, settings.quiet_s)
    if target is not None and not 0 < target <= most:
        accepted = f"a rate above 0 up to {most:g}, the ceiling of hold and quiet time,"
        raise bad_value("--target", target, accepted, "ask for another rate")
    shares = read_changes(texts or [], "--share", "band=share, such as smr=0.6")
    if len(shares) < len(texts or []):
        raise ConfigError("--share names a band twice; leave one of them out.")
    low, high = SHARES
    for band, share in shares.items():
        if band not in settings.bands:
            raise bad_value("--share", band, f"one of {', '.join(settings.bands)}", "choose one")
        if not low <= share <= high:
            accepted = f"a share of {low:g} to {high:g}"
            raise bad_value("--share", f"{band}={share:g}", accepted, "choose one between")
    return Wanted(target, shares)


def found(wanted: Wanted, forecaster: Forecaster, protocol: Protocol) -> Start | None:
    """Return the thresholds; None where there is too little clear signal."""
    if not forecaster.enough:
        return None
    settings, above = protocol.settings, protocol.above
    return starting_thresholds(forecaster, settings, above, wanted.target, wanted.shares)


def values(start: Start, wanted: Wanted) -> dict[str, Any]:
    """Return plain values: ``change`` holds what ``--set`` takes, ``shares`` the time met."""
    return {
        "target": wanted.target,
        "change": _thresholds(start),
        "shares": dict(zip(start.settings.bands, start.shares, strict=True)),
        "rate": start.forecast.rate,
        "low": start.forecast.low,
        "high": start.forecast.high,
        "independent_rate": start.independent_rate,
    }


def lines(start: Start, wanted: Wanted) -> list[str]:
    """Return the same for a person to read."""
    target, told = wanted.target, start.forecast
    met = dict(zip(_thresholds(start).items(), start.shares, strict=True))
    said = [
        "Thresholds to start with" + ("" if target is None else f" for {target:g} a minute") + ":",
        *(f"  {key} {value:g}, met {share:.0%} of the time" for (key, value), share in met.items()),
        f"  They give {told.rate:.1f} ({told.low:.0f}-{told.high:.0f}) a minute of clear time; "
        f"if no band knew of another it would be {start.independent_rate:.1f}.",
    ]
    if target is not None and abs(told.rate - target) > NEAR:
        said.append("  Nearer is not possible with these shares; ask for others with --share.")
    return said


def _thresholds(start: Start) -> dict[str, float]:
    keys = [f"{band}.threshold" for band in start.settings.bands]
    return {key: start.settings.value(key) for key in keys}
