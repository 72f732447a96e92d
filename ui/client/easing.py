"""Gentle movement, driven by elapsed time alone: the same path at any frame rate."""

from __future__ import annotations

import math


def towards(value: float, target: float, dt_s: float, rise_s: float, fall_s: float) -> float:
    """Move ``value`` towards ``target``, exponentially; never past it.

    ``rise_s`` and ``fall_s`` are the times in which 63 % of the way up or down is gone.
    """
    slowness = rise_s if target > value else fall_s
    return target + (value - target) * math.exp(-dt_s / slowness)


def ramp(value: float, target: float, dt_s: float, length_s: float) -> float:
    """Move ``value`` towards ``target`` at the steady pace of 1 in ``length_s``."""
    step = dt_s / length_s
    return min(value + step, target) if target > value else max(value - step, target)


def soft(share: float) -> float:
    """Bend a steady 0-1 ramp so that it starts and ends without a jerk."""
    share = min(max(share, 0.0), 1.0)
    return share * share * (3.0 - 2.0 * share)
