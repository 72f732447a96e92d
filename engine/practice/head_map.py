"""Where the sites lie on a head seen from above, for a picture; pure.

The plane is the usual one: along every line from the vertex, a distance on the map is a distance
on the scalp (an azimuthal equidistant picture of a ball). Cz is at (0, 0), the nasion at (0, 1),
the inion at (0, -1), the right ear's landmark at (1, 0). The line around the head is a circle of
0.8, since Fpz and Oz lie at 10 % of nasion to inion; a share of the circumference is an angle.
"""

from __future__ import annotations

import math

from engine.practice.sites import AROUND, CORONAL, EAR, HELPERS, MIDLINE, SITES, Site

Place = tuple[float, float]
"""To the client's right, and towards the nose."""

RING = 0.8
"""Radius of the line around the head."""

EARS: dict[str, Place] = {"A1": (-1.12, -0.06), "A2": (1.12, -0.06)}
MASTOIDS: dict[str, Place] = {"M1": (-1.02, -0.32), "M2": (1.02, -0.32)}
NASION: Place = (0.0, 1.0)
INION: Place = (0.0, -1.0)

_BY_NAME = {site.name: site for site in (*SITES, *HELPERS)}


def place_of(site: Site) -> Place:
    """Return where a site lies; the ear lobes stand beside the head."""
    if site.line == EAR:
        return EARS[site.name]
    if site.line == MIDLINE:
        return 0.0, 1 - 2 * site.fraction
    right = -1 if site.side == "left" else 1
    if site.line == CORONAL:
        return right * 2 * site.fraction, 0.0
    if site.line == AROUND:
        turned = 2 * math.pi * site.fraction
        return right * RING * math.sin(turned), RING * math.cos(turned)
    ends = [place_of(_BY_NAME[name]) for span in site.spans for name in span]
    return sum(x for x, _ in ends) / len(ends), sum(y for _, y in ends) / len(ends)


def head_map() -> dict[str, Place]:
    """Return every site by its name, the mastoids, and the marks Fpz and Oz."""
    return {site.name: place_of(site) for site in (*SITES, *HELPERS)} | MASTOIDS
