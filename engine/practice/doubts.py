"""Questions about lengths that no head is likely to have, and about halves that differ.

None of them forbids anything: heads differ, and the practitioner decides. The limits are wide
around what the trade meets from a child of about five years to a large adult (common practice;
the means of adults, about 57 cm around for men and 55 for women with 1.5 cm of spread, are the
US Army's survey of 1988, Gordon et al. 1989, from memory). The shares, of one length in another,
are ours: wide around MNE-Python's template heads, on which nasion-inion and ear to ear are 0.62 to
0.66 of the circumference, and the spans as in ``SPAN_SHARES``.
"""

from __future__ import annotations

from engine.practice.head import Halves, Head
from engine.practice.lengths import CM_IN, amount, bare
from engine.practice.sites import AROUND, CORONAL, MIDLINE

LIKELY_CM = {MIDLINE: (29.0, 42.0), CORONAL: (28.0, 42.0), AROUND: (47.0, 64.0)}
LIKELY_SHARE = (0.54, 0.74)
"""Of the circumference, nasion to inion and ear to ear."""

SPAN_SHARES = {"Fz": (0.15, 0.24), "Pz": (0.15, 0.24), "C3": (0.18, 0.28), "C4": (0.18, 0.28)}
"""Of the circumference, by where a span starts; 0.19-0.20 and 0.22-0.24 on the templates."""

MOST_UNEVEN_CM = 1.0
"""Halves that differ by more are measured again: a rule of ours."""

SUM_CM = 0.5
"""So far two halves may miss the whole: a rule of ours, about what a tape gives twice."""

NAMES = {MIDLINE: "Nasion to inion", CORONAL: "Ear to ear", AROUND: "The line around the head"}


def doubts(head: Head) -> tuple[str, ...]:
    """Return every question about a head, one sentence each; none where all is as expected."""
    unit = head.unit
    lengths = {
        MIDLINE: head.nasion_inion_cm,
        CORONAL: head.preauricular_cm,
        AROUND: head.circumference_cm,
    }
    asked = [
        f"{NAMES[line]} is {amount(cm, unit)}; most heads have {_between(*LIKELY_CM[line], unit)}"
        f"{_other_unit(line, cm, unit)}. Measured right?"
        for line, cm in lengths.items()
        if not LIKELY_CM[line][0] <= cm <= LIKELY_CM[line][1]
    ]
    if not asked:
        asked += _shares(head)
    asked += _spans(head)
    for line, halves in (
        (CORONAL, head.preauricular_halves_cm),
        (AROUND, head.circumference_halves_cm),
    ):
        asked += _halves(line, lengths[line], halves, unit)
    return tuple(asked)


def _between(low_cm: float, high_cm: float, unit: str) -> str:
    return f"{bare(low_cm, unit)} to {bare(high_cm, unit)} {unit}"


def _other_unit(line: str, cm: float, unit: str) -> str:
    """Return a hint where the same number is likely in the other unit."""
    other = "in" if unit == "cm" else "cm"
    read = cm / CM_IN[unit] * CM_IN[other]
    low, high = LIKELY_CM[line]
    return f" (read in {other} it would be likely)" if low <= read <= high else ""


def _shares(head: Head) -> list[str]:
    around, unit = head.circumference_cm, head.unit
    low, high = (share * around for share in LIKELY_SHARE)
    return [
        f"{NAMES[line]} is {amount(cm, unit)}, but with {amount(around, unit)} around the head "
        f"{_between(low, high, unit)} is likely. Are both measured right?"
        for line, cm in ((MIDLINE, head.nasion_inion_cm), (CORONAL, head.preauricular_cm))
        if not low <= cm <= high
    ]


def _spans(head: Head) -> list[str]:
    asked = []
    for span, cm in head.spans_cm:
        start, end = span.split("-")
        low, high = (share * head.circumference_cm for share in SPAN_SHARES[start])
        if not low <= cm <= high:
            asked.append(
                f"{start} to {end} is {amount(cm, head.unit)}; on this head "
                f"{_between(low, high, head.unit)} is likely. Measured right?"
            )
    return asked


def _halves(line: str, whole_cm: float, halves: Halves | None, unit: str) -> list[str]:
    if halves is None:
        return []
    asked = []
    if abs(sum(halves) - whole_cm) > SUM_CM:
        asked.append(
            f"{NAMES[line]}: the halves make {amount(sum(halves), unit)}, but the whole is "
            f"{amount(whole_cm, unit)}. Which is right?"
        )
    if abs(halves[0] - halves[1]) > MOST_UNEVEN_CM:
        asked.append(f"{uneven(line, halves, unit)} Measure both halves again.")
    return asked


def uneven(line: str, halves: Halves, unit: str) -> str:
    """Return by how much one half is longer than the other."""
    left, right = halves
    said = f"{NAMES[line]}: left {amount(left, unit)}, right {amount(right, unit)}"
    if bare(abs(left - right), unit) == bare(0.0, unit):
        return f"{said}: even."
    longer = "left" if left > right else "right"
    by = amount(abs(left - right), unit)
    if line == CORONAL:
        move = amount(abs(left - right) / 2, unit)
        return f"{said}: the {longer} is {by} longer. The middle is {move} further to the {longer}."
    return f"{said}: the {longer} is {by} longer."


def asymmetries(head: Head) -> tuple[str, ...]:
    """Return how even the halves are that were measured, one sentence each."""
    return tuple(
        uneven(line, halves, head.unit)
        for line, halves in (
            (CORONAL, head.preauricular_halves_cm),
            (AROUND, head.circumference_halves_cm),
        )
        if halves is not None
    )
