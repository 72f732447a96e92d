"""Whether sensors sit well, by their impedances, and what to do about each.

The rule, every sensor at most 10 kΩ, better 5, and within 3 kΩ of each other, is common practice;
10 kΩ and balanced is also what ACNS Guideline 1 (2016) asks for (from memory). All three limits
are a clinic's settings.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from engine.clinic import ContactLimits

OPEN_KOHM = 500.0
"""Above this no skin is measured: a sensor is off, or its lead is not plugged in."""

BRIDGED_KOHM = 0.2
"""Below this neither skin nor paste is measured, but metal or paste that joins two sensors."""


class Contact(StrEnum):
    """How one sensor sits."""

    GOOD = "good"
    USABLE = "usable"
    TOO_HIGH = "too high"
    UNEVEN = "uneven"
    OPEN = "not connected"
    BRIDGED = "joined"
    UNKNOWN = "not measured"


FIT = frozenset({Contact.GOOD, Contact.USABLE})


@dataclass(frozen=True)
class SiteContact:
    """One sensor: ``kohm`` is None where nothing is known; ``advice`` is one sentence."""

    site: str
    kohm: float | None
    verdict: Contact
    advice: str

    @property
    def fit(self) -> bool:
        return self.verdict in FIT


@dataclass(frozen=True)
class ContactView:
    """All sensors. ``spread_kohm`` is the highest less the lowest, None with fewer than two.

    ``advice`` is one sentence for the whole: what to do first.
    """

    sites: tuple[SiteContact, ...]
    spread_kohm: float | None
    advice: str

    @property
    def fit(self) -> bool:
        """Whether every sensor is known and fit to train with."""
        return bool(self.sites) and all(site.fit for site in self.sites)


def judge(
    kohm: Mapping[str, float | None],
    limits: ContactLimits | None = None,
    common: tuple[str, ...] = (),
) -> ContactView:
    """Judge impedances by site.

    ``kohm`` holds None, NaN or a negative number where nothing was measured; infinity, where no
    current flows. ``common`` names reference and ground, which every signal shares.
    """
    limits = limits or ContactLimits()
    known = {site: _known(value) for site, value in kohm.items()}
    measured = {s: v for s, v in known.items() if v is not None and v < OPEN_KOHM}
    lowest = min(measured, key=lambda site: measured[site], default="")
    spread = max(measured.values()) - measured[lowest] if len(measured) > 1 else None
    sites = []
    for site, value in known.items():
        verdict = _verdict(value, measured.get(lowest, 0.0), limits)
        sites.append(SiteContact(site, value, verdict, _advice(value, verdict, lowest, limits)))
    return ContactView(tuple(sites), spread, _first(tuple(sites), common))


def _known(value: float | None) -> float | None:
    return None if value is None or math.isnan(value) or value < 0 else value


def _verdict(kohm: float | None, lowest: float, limits: ContactLimits) -> Contact:
    if kohm is None:
        return Contact.UNKNOWN
    if kohm >= OPEN_KOHM:
        return Contact.OPEN
    if kohm < BRIDGED_KOHM:
        return Contact.BRIDGED
    if kohm > limits.most_kohm:
        return Contact.TOO_HIGH
    if round(kohm - lowest, 6) > limits.spread_kohm:
        return Contact.UNEVEN
    return Contact.GOOD if kohm <= limits.better_kohm else Contact.USABLE


def _advice(kohm: float | None, verdict: Contact, lowest: str, limits: ContactLimits) -> str:
    most, better = limits.most_kohm, limits.better_kohm
    if verdict is Contact.TOO_HIGH and kohm is not None and kohm > 3 * most:
        return (
            "Take it off, clean the skin gently again, and put it back with fresh paste that "
            "fills the cup without an air pocket."
        )
    return {
        Contact.GOOD: "Leave it as it is.",
        Contact.USABLE: f"Fit to train; a minute's rest or a little paste may bring it to "
        f"{better:g} kΩ.",
        Contact.TOO_HIGH: f"Press it down gently and wait a moment; above {most:g} kΩ still, add "
        "paste through its hole, then clean the skin again.",
        Contact.UNEVEN: f"Work on it until it is within {limits.spread_kohm:g} kΩ of {lowest}, the "
        "lowest, or let that one be.",
        Contact.OPEN: "Look whether the sensor is on the skin, its plug is in, and its lead is "
        "whole.",
        Contact.BRIDGED: "Wipe away paste that joins two sensors, and look whether a test plug is "
        "still in.",
        Contact.UNKNOWN: "Measure it, or type in what the amplifier shows.",
    }[verdict]


def _first(sites: tuple[SiteContact, ...], common: tuple[str, ...]) -> str:
    """Say in one sentence what to do first: what all sensors share, then the worst one."""
    unfit = [site for site in sites if not site.fit]
    unknown = [site for site in unfit if site.verdict is Contact.UNKNOWN]
    if not sites or len(unknown) == len(sites):
        return "No impedance is known: type them in, or go by the signal itself."
    if not unfit:
        return "Every sensor sits well: go on."
    bad = [site for site in unfit if site.verdict is not Contact.UNKNOWN]
    shared = [site.site for site in bad if site.site in common]
    if len(bad) > 1 and len(bad) == len(sites) - len(unknown) and common:
        return f"All of them are off: begin with {' and '.join(shared or common)}, which all share."
    if shared:
        return f"Begin with {shared[0]}, which every signal shares."
    if bad:
        worst = max(bad, key=lambda site: site.kohm or 0.0)
        return f"Begin with {worst.site}."
    names = ", ".join(site.site for site in unknown)
    return f"Not measured yet: {names}."
