"""Which sites the words of a protocol mean: ``C4``, ``C4 - A2``, ``linked ears``, ``A1+A2``."""

from __future__ import annotations

import re

from engine.practice.head_map import MASTOIDS
from engine.practice.sites import SITES, find_site

_EARS = {"ear": ("A1", "A2"), "mastoid": ("M1", "M2")}


def sites_meant(text: str) -> tuple[str, ...]:
    """Return the names of the sites that a text means, in its order; none where it names none.

    A mastoid keeps its own name (``M1``), every other site has the older one (``T3``).
    """
    found: list[str] = []
    for part in re.split(r"[+,;/&]|\band\b", text):
        plain = part.split(" - ")[0].strip()
        if plain.upper() in MASTOIDS:
            found.append(plain.upper())
        elif (site := find_site(plain)) is not None:
            found.append(site.name)
        else:
            found += _in_words(plain.casefold())
    return tuple(dict.fromkeys(found))


def hookup_marks(site: str, reference: str, ground: str) -> dict[str, tuple[str, ...]]:
    """Return the names of sites by what they are; of ``C4 - A2`` the second half is a reference."""
    if " - " in site and not sites_meant(reference):
        reference = site.split(" - ", 1)[1]
    return {
        "site": sites_meant(site),
        "reference": sites_meant(reference),
        "ground": sites_meant(ground),
    }


def _in_words(text: str) -> list[str]:
    for word, (left, right) in _EARS.items():
        if re.search(rf"\b{word}", text):
            if "left" in text:
                return [left]
            return [right] if "right" in text else [left, right]
    return []


def halved(name: str) -> tuple[str, str] | None:
    """Return the two spans whose middles give a site, None where it is measured otherwise."""
    for site in SITES:
        if site.name == name and site.spans:
            (a, b), (c, d) = site.spans
            return f"{a}-{b}", f"{c}-{d}"
    return None
