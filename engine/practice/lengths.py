"""Lengths as a tape gives them: in centimetres or inches, written by hand."""

from __future__ import annotations

import math
import re

from engine.errors import bad_value

CM_IN = {"cm": 1.0, "in": 2.54}
"""Centimetres in one of each unit; 2.54 since 1959, by definition."""

SMALLEST_CM, LARGEST_CM = 0.0, 200.0
SIXTEENTHS = 16

_FRACTION = re.compile(r"(?:(\d+)\s+)?(\d+)\s*/\s*(\d+)")


def to_cm(setting: str, value: float, unit: str) -> float:
    """Return a length in centimetres; ConfigError where it can be no length of a tape."""
    if unit not in CM_IN:
        raise bad_value("unit", unit, "cm or in", "name the unit of the tape")
    size = CM_IN[unit]
    if not SMALLEST_CM < value * size <= LARGEST_CM:
        accepted = f"a length above 0 and up to {LARGEST_CM / size:.0f} {unit}"
        raise bad_value(setting, value, accepted, "measure again, and check the unit")
    return value * size


def read_length(text: str) -> float | None:
    """Return the number that was written, ``36.5``, ``36,5`` or ``14 1/4``; None if it is none."""
    text = text.strip()
    if found := _FRACTION.fullmatch(text):
        whole, above, below = (int(part or 0) for part in found.groups())
        return whole + above / below if below else None
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        return None
    return number if math.isfinite(number) and number > 0 else None


def in_unit(length_cm: float, unit: str) -> float:
    """Return a length in ``unit``, free of the dust of conversion (1/10 µm)."""
    return round(length_cm / CM_IN[unit], 5)


def bare(length_cm: float, unit: str) -> str:
    """Return a length as the tape reads it, without its unit: to 1 mm, or to 1/100 in."""
    return f"{in_unit(length_cm, unit):.{1 if unit == 'cm' else 2}f}"


def amount(length_cm: float, unit: str) -> str:
    """Return a length in words: ``6.8 cm``, or ``2.68 in (2 11/16)`` as an inch tape has it."""
    if unit == "cm":
        return f"{bare(length_cm, unit)} cm"
    whole, above = divmod(round(in_unit(length_cm, unit) * SIXTEENTHS), SIXTEENTHS)
    shared = math.gcd(above, SIXTEENTHS)
    parts = [str(whole)] if whole or not above else []
    parts += [f"{above // shared}/{SIXTEENTHS // shared}"] if above else []
    return f"{bare(length_cm, unit)} in ({' '.join(parts)})"
