"""The picture of the head against the electrode positions that MNE-Python carries.

``easycap-M1`` gives every site of a cap on a ball by two angles; seen from above, an azimuthal
equidistant picture takes the angle from the vertex as the distance. There the ring through Fpz
and Oz lies 92 degrees from the vertex, which is 0.8 on ours.
"""

from __future__ import annotations

import math

import mne
import pytest

from engine.practice.head_map import RING, place_of
from engine.practice.sites import EAR, SITES, Site

RING_DEG = 92.0
NEWER = {"T3": "T7", "T4": "T8", "T5": "P7", "T6": "P8"}
CAP = mne.channels.make_standard_montage("easycap-M1").get_positions()["ch_pos"]


def seen_from_above(site: Site) -> tuple[float, float]:
    x, y, z = CAP[NEWER.get(site.name, site.name)]
    from_vertex = math.degrees(math.atan2(math.hypot(x, y), z))
    radius = RING * from_vertex / RING_DEG
    turned = math.atan2(x, y)
    return radius * math.sin(turned), radius * math.cos(turned)


@pytest.mark.parametrize("site", [s for s in SITES if s.line != EAR], ids=lambda s: s.name)
def test_every_site_lies_where_the_cap_has_it(site: Site) -> None:
    assert math.dist(place_of(site), seen_from_above(site)) < 0.02
