"""From a measured head to the distance of every site, and the words that a hand follows."""

from __future__ import annotations

from dataclasses import dataclass

from engine.practice.head import Head
from engine.practice.lengths import amount
from engine.practice.sites import (
    AROUND,
    CORONAL,
    EAR,
    HELPERS,
    MIDLINE,
    MIDWAY,
    SITES,
    Site,
)

ALONG = {
    MIDLINE: "the line over the top to the inion",
    CORONAL: "the line between the ears",
    AROUND: "the line around the head",
}


@dataclass(frozen=True)
class Distance:
    """How far a site lies from where its line starts, centimetres.

    None where nothing is measured off: at the ear lobes, and at a midway until its span is
    measured. ``second_cm`` is the same for the other way to find it, None where there is none.
    """

    site: Site
    cm: float | None
    second_start: str | None = None
    second_cm: float | None = None
    apart_cm: float | None = None


def distances(head: Head) -> tuple[Distance, ...]:
    """Return the 21 sites in the order of the hands."""
    return tuple(_distance(site, head) for site in SITES)


def helper_marks(head: Head) -> tuple[Distance, ...]:
    """Return Fpz and Oz, through which the line around the head runs."""
    return tuple(_distance(site, head) for site in HELPERS)


def distance_of(site: Site, head: Head) -> Distance:
    """Return the distance of one site or helper mark."""
    return _distance(site, head)


def _distance(site: Site, head: Head) -> Distance:
    whole = {
        MIDLINE: head.nasion_inion_cm,
        CORONAL: head.preauricular_cm,
        AROUND: head.circumference_cm,
    }
    if site.line == EAR:
        return Distance(site, None)
    if site.line == MIDWAY:
        spans = [head.span("-".join(span)) for span in site.spans]
        halves = [None if s is None or None in spans else s / 2 for s in spans]
        return Distance(site, halves[0], site.spans[1][0], halves[1], head.apart(site.name))
    cm = site.fraction * whole[site.line]
    if site.second is None:
        return Distance(site, cm)
    line, start, fraction = site.second
    return Distance(site, cm, start, fraction * whole[line])


def sentence(found: Distance, unit: str, name: str = "") -> str:
    """Return what the hand does for a site, in one sentence; ``name`` is how it was asked for."""
    return f"{name or found.site.name}: {how(found, unit, name)}"


def how(found: Distance, unit: str, name: str = "") -> str:
    """Return what the hand does for a site: from where, how far, along which line."""
    site = found.site
    if site.line == EAR:
        if name.casefold() == (site.also or "").casefold():
            return f"the mastoid, the bone behind the {site.side} ear"
        return f"the {site.side} ear lobe; for {site.also} the bone behind the ear"
    if site.line == MIDWAY:
        (start, end), (start2, end2) = site.spans
        if found.cm is None or found.second_cm is None:
            return f"measure {start} to {end} and {start2} to {end2}; half-way on each"
        return (
            f"{amount(found.cm, unit)} from {start} towards {end}, and "
            f"{amount(found.second_cm, unit)} from {start2} towards {end2}"
        )
    assert found.cm is not None
    far = amount(found.cm, unit)
    if site.line == MIDLINE:
        return f"{far} from the nasion on {ALONG[site.line]}"
    return f"{far} to the {site.side} of {site.start} on {ALONG[site.line]}"


def second_way(found: Distance, unit: str) -> str:
    """Return the other way to find a site, or what its two marks say; empty if there is none."""
    site = found.site
    if site.line == MIDWAY:
        return _two_marks(found, unit)
    if site.second is None or found.second_cm is None:
        return ""
    line, start, _ = site.second
    return f"check: {amount(found.second_cm, unit)} to the {site.side} of {start} on {ALONG[line]}"


CLOSE_CM = 1.0
"""Two marks of one site this close are one, in the middle: a rule of ours, a sensor's width."""


def _two_marks(found: Distance, unit: str) -> str:
    if found.cm is None:
        return ""
    apart = found.apart_cm
    if apart is None:
        return "the two marks should meet: measure how far apart they lie"
    if apart == 0:
        return "the two marks meet"
    said = f"the two marks lie {amount(apart, unit)} apart: "
    if apart <= CLOSE_CM:
        return f"{said}take the middle between them"
    return f"{said}measure both spans again"
