"""Numbers and verdicts in words, for both reports."""

from __future__ import annotations

import math

from engine.lookback.change import TOO_FEW, Change
from engine.protocol import Condition, Protocol

NOTHING = "–"


def number(value: float | None, digits: int = 1) -> str:
    """Return a number, or a dash where there is none."""
    return NOTHING if value is None or not math.isfinite(value) else f"{value:.{digits}f}"


def share(value: float | None) -> str:
    """Return a share of one in per cent."""
    return NOTHING if value is None or not math.isfinite(value) else f"{value * 100:.0f} %"


def minutes(seconds: float) -> str:
    """Return a length of time in minutes and seconds."""
    whole = round(seconds)
    if seconds > 0 and not whole:
        return "under 1 s"
    return f"{whole // 60} min {whole % 60:02d} s" if whole >= 60 else f"{whole} s"


def clock(seconds: float) -> str:
    """Return a moment of the session as min:s."""
    whole = int(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


def band(condition: Condition) -> str:
    """Return a band with its frequencies."""
    return f"{condition.label} {condition.low_hz:g}–{condition.high_hz:g} Hz"


def setting(key: str, protocol: Protocol) -> str:
    """Return a setting's name as a reader knows it, with its unit."""
    if key in ("hold", "quiet"):
        return f"{key} time, s"
    name, _, kind = key.partition(".")
    return f"{protocol.label(name)} {kind}, {'µV' if kind == 'threshold' else 's'}"


def interval(change: Change, digits: int = 2, factor: float = 1.0) -> str:
    """Return a change with its 95 % interval."""
    if not math.isfinite(change.change):
        return NOTHING
    values = (change.change * factor, change.low * factor, change.high * factor)
    # Adding nothing makes a rounded "-0" a plain zero.
    middle, low, high = (f"{round(value, digits) + 0.0:+.{digits}f}" for value in values)
    return f"{middle} ({low} to {high})"


def verdict(change: Change | None) -> str:
    """Return a verdict; a comparison that was not made has a dash."""
    if change is None:
        return NOTHING
    return "too few blocks" if change.verdict == TOO_FEW else change.verdict
