"""The 21 sites of the international 10-20 system, in the order in which hands find them.

Sources: Jasper 1958 (Electroencephalogr Clin Neurophysiol 10:371); names since: ACNS Guideline 2
(Acharya et al. 2016, J Clin Neurophysiol 33:308). The midline comes first, since all else is
measured from it; then the line between the ears, which crosses it at Cz; then the line around the
head, left and right; then the sites half-way between those; the ear lobes last.

Fpz and Oz are none of the 21 but two marks that the line around the head runs through, so they
stand beside the sites, as ``HELPERS``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

MIDLINE, CORONAL, AROUND, MIDWAY, EAR = (
    "nasion-inion",
    "preauricular",
    "circumference",
    "midway",
    "ear lobe",
)
"""The lines; the first three are named for the length that is measured along them."""


@dataclass(frozen=True)
class Site:
    """A site: at ``fraction`` of the length of ``line``, measured from ``start``.

    ``side`` is left, right or middle. ``second`` is another way to find the same site: a line,
    where to start on it, and the fraction. ``spans`` are the two spans, each from its start to
    the other end, that a site of ``MIDWAY`` halves.
    """

    name: str
    line: str
    start: str
    side: str
    fraction: float = 0.0
    also: str | None = None
    second: tuple[str, str, float] | None = None
    spans: tuple[tuple[str, str], ...] = ()


def _midway(name: str, side: str, first: tuple[str, str], check: tuple[str, str]) -> Site:
    return Site(name, MIDWAY, first[0], side, 0.5, spans=(first, check))


HELPERS: tuple[Site, ...] = (
    Site("Fpz", MIDLINE, "nasion", "middle", 0.10),
    Site("Oz", MIDLINE, "nasion", "middle", 0.90),
)

SITES: tuple[Site, ...] = (
    Site("Fz", MIDLINE, "nasion", "middle", 0.30),
    Site("Cz", MIDLINE, "nasion", "middle", 0.50),
    Site("Pz", MIDLINE, "nasion", "middle", 0.70),
    Site("C3", CORONAL, "Cz", "left", 0.20),
    Site("C4", CORONAL, "Cz", "right", 0.20),
    Site("T3", CORONAL, "Cz", "left", 0.40, "T7", (AROUND, "Fpz", 0.25)),
    Site("T4", CORONAL, "Cz", "right", 0.40, "T8", (AROUND, "Fpz", 0.25)),
    Site("Fp1", AROUND, "Fpz", "left", 0.05),
    Site("F7", AROUND, "Fpz", "left", 0.15),
    Site("T5", AROUND, "Fpz", "left", 0.35, "P7"),
    Site("O1", AROUND, "Fpz", "left", 0.45),
    Site("Fp2", AROUND, "Fpz", "right", 0.05),
    Site("F8", AROUND, "Fpz", "right", 0.15),
    Site("T6", AROUND, "Fpz", "right", 0.35, "P8"),
    Site("O2", AROUND, "Fpz", "right", 0.45),
    _midway("F3", "left", ("Fz", "F7"), ("C3", "Fp1")),
    _midway("F4", "right", ("Fz", "F8"), ("C4", "Fp2")),
    _midway("P3", "left", ("Pz", "T5"), ("C3", "O1")),
    _midway("P4", "right", ("Pz", "T6"), ("C4", "O2")),
    Site("A1", EAR, "left ear lobe", "left", also="M1"),
    Site("A2", EAR, "right ear lobe", "right", also="M2"),
)

SPANS: tuple[str, ...] = tuple(
    f"{start}-{end}" for site in SITES for start, end in site.spans
)  # fmt: skip
"""Every span that is measured to be halved, written ``Fz-F7``."""

MIDWAYS: tuple[str, ...] = tuple(site.name for site in SITES if site.line == MIDWAY)

_BY_NAME = {
    name.casefold(): site for site in (*SITES, *HELPERS) for name in (site.name, site.also) if name
}


def find_site(label: str) -> Site | None:
    """Return the site that a label names, by its older or newer name; None if it is none.

    Of a difference such as ``C4 - A2`` the first half is the site.
    """
    plain = re.sub(r"^eeg[\s:_.-]+", "", label.strip().casefold())
    parts = re.split(r"[-‐‑‒–−]", plain)
    return _BY_NAME.get(parts[0].strip().rstrip(". "))


def find_span(text: str) -> str | None:
    """Return the span that is named from either end, ``F7-Fz`` or ``Fz - P7``; None if none is."""
    ends = [find_site(part) for part in re.split(r"[-‐‑‒–−]", text)]
    names = {end.name for end in ends if end is not None}
    found = [span for span in SPANS if set(span.split("-")) == names]
    return found[0] if found and len(ends) == 2 else None
