"""Units of a stream: what they are to microvolts, and whether the signal's size agrees.

A unit is never guessed. Where one is missing, or the size of the signal contradicts it by
orders of magnitude, the operator is asked, and the size only suggests an answer.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import signal

from engine.chunk import MICROVOLTS_PER, Floats
from engine.errors import bad_value
from engine.stream.messages import Question
from engine.stream.metadata import Description
from engine.stream.ohms import kohm_per

CHOICES = ("V", "mV", "µV")

TYPICAL_UV = 15.0
"""Robust spread of EEG from 1 to 40 Hz; people and sites differ by a factor of about ten."""

PLAUSIBLE_UV = (0.05, 5000.0)
"""Outside of this the unit, and not the person, is the likelier reason."""

EXPONENTS = {"-3": 1e3, "-6": 1.0, "-9": 1e-3}
"""Units written as a power of ten of a volt, as pylsl's ``set_channel_units`` takes them."""

_ANSWER = re.compile(r"(?:(\d+(?:\.\d*)?(?:[eE][+-]?\d+)?)\s*)?([a-zµμ]+)", re.IGNORECASE)


def factor_of(unit: str) -> float | None:
    """Return the factor from a stream's unit to microvolts, None where it is no voltage."""
    plain = unit.strip().lower()
    return MICROVOLTS_PER.get(plain, EXPONENTS.get(plain))


def factor_of_answer(answer: str) -> float:
    """Return the factor of an operator's answer: ``µV``, or ``0.0224 µV`` for one count.

    Raises ConfigError where it is not understood.
    """
    match = _ANSWER.fullmatch(answer.strip())
    factor = factor_of(match.group(2)) if match else None
    number = float(match.group(1) or 1) if match else 0.0
    if factor is None or not 0 < number < math.inf:
        accepted = "V, mV or µV, or the size of one count such as '0.0224 µV',"
        raise bad_value("unit", answer, accepted, "name it with --unit")
    return number * factor


def spread_of(raw: NDArray[np.generic], sfreq: float) -> Floats:
    """Return the robust spread from 1 to 40 Hz of each channel, in the channel's own unit.

    ``raw`` is (n_samples, n_channels), at least a second. Offset, drift, mains and single
    blinks hardly count. 0 for a flat channel.
    """
    samples = np.nan_to_num(np.asarray(raw, dtype=np.float64), nan=0.0, posinf=0.0, neginf=0.0)
    high = min(40.0, 0.4 * sfreq)
    sos = signal.butter(2, (1.0, high), "bandpass", fs=sfreq, output="sos")
    passed = signal.sosfiltfilt(sos, samples - np.median(samples, axis=0), axis=0)
    spread: Floats = 1.4826 * np.median(np.abs(passed), axis=0)
    return spread


def suggested_unit(spread: float) -> str:
    """Return which of `CHOICES` would make a spread look like EEG, or ``""``."""
    if spread <= 0:
        return ""
    off = {
        name: abs(math.log10(spread * MICROVOLTS_PER[name.lower()] / TYPICAL_UV))
        for name in CHOICES
    }
    best = min(off, key=lambda name: off[name])
    return best if off[best] <= 1.5 else ""


def is_plausible(spread_uv: float) -> bool:
    """Tell whether a signal of this spread can be EEG; a flat one (0) says nothing against it."""
    return spread_uv == 0 or PLAUSIBLE_UV[0] <= spread_uv <= PLAUSIBLE_UV[1]


@dataclass(frozen=True)
class Units:
    """One unit and one factor to microvolts a channel; ``kept`` names those that are no voltage."""

    units: tuple[str, ...]
    to_uv: tuple[float, ...]
    answered: bool = False
    kept: tuple[str, ...] = ()


def resolve_units(
    stream: Description, labels: tuple[str, ...], spread: Floats, answer: str
) -> Units | Question:
    """Return the units, or the question that only the operator can answer.

    ``spread`` is `spread_of` the signal; ``answer`` counts for the channels in question alone:
    those without a known unit or, where the units would make the signal absurd, all of them.
    """
    units = list(stream.units)
    factors = [factor_of(unit) for unit in units]
    eeg = [
        i
        for i, kind in enumerate(stream.kinds)
        if kind.lower() in ("", "eeg") and kohm_per(units[i]) is None
    ]
    asked = [i for i in eeg if factors[i] is None]
    absurd = False
    if not asked and eeg:
        sizes_uv = [float(spread[i]) * (factors[i] or 0.0) for i in eeg]
        absurd = not is_plausible(float(np.median(sizes_uv)))
        asked = eeg if absurd else []
    if asked and not answer:
        named = ", ".join(labels[i] for i in asked[:4]) + (" …" if len(asked) > 4 else "")
        stated = " and ".join(sorted({units[i] for i in asked} - {""}))
        return _ask_unit(stream, named, stated, absurd, float(np.median(spread[asked])))
    for i in asked:
        units[i], factors[i] = answer.strip(), factor_of_answer(answer)
    kept = tuple(labels[i] for i, factor in enumerate(factors) if factor is None)
    to_uv = tuple(1.0 if factor is None else factor for factor in factors)
    return Units(tuple(units), to_uv, bool(asked), kept)


def _ask_unit(
    stream: Description, named: str, stated: str, absurd: bool, spread: float
) -> Question:
    if absurd:
        trouble = f"states {stated} for {named}, which makes no sense for a signal of its size"
    elif stated:
        trouble = f"states {stated!r} for {named}, which is no unit that is known"
    else:
        trouble = f"states no unit for {named}"
    suggestion = suggested_unit(spread)
    return Question(
        "unit",
        f"{stream.title} {trouble} (its size suggests {suggestion or 'none'}), but one of V, mV, "
        "µV is needed; choose what the amplifier sends, or write the size of one count, such as "
        "0.0224 µV.",
        CHOICES,
        suggestion,
    )
