"""The 21 sites and two marks as rows of words, in the order of the hands; no Qt."""

from __future__ import annotations

from dataclasses import dataclass

from engine.practice.distances import CLOSE_CM, Distance, distance_of
from engine.practice.head import Head
from engine.practice.lengths import amount, bare
from engine.practice.sites import AROUND, CORONAL, EAR, HELPERS, MIDLINE, MIDWAY, SITES, Site

LINE_WORDS = {
    MIDLINE: "midline",
    CORONAL: "ear to ear",
    AROUND: "around",
    MIDWAY: "half-way",
    EAR: "ear",
}

COLUMNS = ("site", "line", "from", "distance", "the other way to find it")


@dataclass(frozen=True)
class SiteRow:
    """One row: ``site`` is the name that marks go by; ``is_mark`` where it is none of the 21."""

    site: str
    cells: tuple[str, str, str, str, str]
    is_mark: bool
    begins_line: bool


def _order() -> list[Site]:
    fpz, oz = HELPERS
    order = [fpz, *SITES]
    order.insert(1 + order.index(next(s for s in SITES if s.name == "Pz")), oz)
    return order


def site_rows(head: Head | None) -> tuple[SiteRow, ...]:
    """Return every row; without a head their distances are open."""
    rows: list[SiteRow] = []
    line = ""
    for site in _order():
        found = Distance(site, None) if head is None else distance_of(site, head)
        unit = "cm" if head is None else head.unit
        name = f"{site.name} ({site.also})" if site.also else site.name
        cells = (
            f"{name}, mark" if site in HELPERS else name,
            LINE_WORDS[site.line],
            _start(site),
            "–" if found.cm is None else amount(found.cm, unit),
            _other_way(found, unit),
        )
        rows.append(SiteRow(site.name, cells, site in HELPERS, bool(line) and site.line != line))
        line = site.line
    return tuple(rows)


def _start(site: Site) -> str:
    if site.line == EAR:
        return site.start
    if site.line == MIDWAY:
        start, end = site.spans[0]
        return f"{start} towards {end}"
    if site.line == MIDLINE:
        return site.start
    return f"{site.side} of {site.start}"


def _other_way(found: Distance, unit: str) -> str:
    site = found.site
    if site.line == EAR:
        return f"{site.also}: the bone behind the ear"
    if site.line == MIDWAY:
        (start, end), (start2, end2) = site.spans
        if found.cm is None or found.second_cm is None:
            return f"measure {start}–{end} and {start2}–{end2}"
        way = f"{start2}–{end2}: {bare(found.second_cm, unit)}"
        return f"{way}; {_apart(found, unit)}"
    if site.second is None or found.second_cm is None:
        return ""
    return f"{bare(found.second_cm, unit)} {unit} from {site.second[1]}, around"


def _apart(found: Distance, unit: str) -> str:
    if found.apart_cm is None:
        return "how far apart?"
    if found.apart_cm == 0:
        return "they meet"
    far = f"{bare(found.apart_cm, unit)} apart"
    return far if found.apart_cm <= CLOSE_CM else f"{far}: again"
