import math

import pytest

from engine.practice.head_map import RING, head_map, place_of
from engine.practice.sites import AROUND, HELPERS, SITES


def test_every_site_has_a_place_of_its_own() -> None:
    places = [place_of(site) for site in SITES]
    assert len(places) == 21
    apart = [math.dist(a, b) for i, a in enumerate(places) for b in places[:i]]
    assert min(apart) > 0.2


def test_a_share_of_a_line_through_the_vertex_is_a_distance() -> None:
    there = head_map()
    assert there["Cz"] == pytest.approx((0, 0))
    assert there["Fz"] == pytest.approx((0, 0.4))
    assert there["Pz"] == pytest.approx((0, -0.4))
    assert there["C4"] == pytest.approx((0.4, 0))
    assert there["T3"] == pytest.approx((-0.8, 0))


def test_the_line_around_the_head_passes_fpz_and_oz() -> None:
    around = [place_of(site) for site in SITES if site.line == AROUND]
    marks = [place_of(site) for site in HELPERS]
    assert [math.hypot(*place) for place in around + marks] == pytest.approx([RING] * 10)


def test_left_mirrors_right() -> None:
    there = head_map()
    pairs = "Fp1 Fp2, F7 F8, F3 F4, T3 T4, C3 C4, T5 T6, P3 P4, O1 O2, A1 A2, M1 M2"
    for pair in pairs.split(", "):
        (x, y), right = (there[name] for name in pair.split())
        assert x < 0 and right == pytest.approx((-x, y)), pair
