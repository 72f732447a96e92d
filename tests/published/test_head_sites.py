"""The sites of the head against the published percentages and MNE-Python's template heads.

Sources: Jasper 1958, Electroencephalogr Clin Neurophysiol 10:371-375, and ACNS Guideline 2
(Acharya et al. 2016, J Clin Neurophysiol 33:308-311): the percentages, as the textbooks print
them. MNE-Python: the 10-05 positions on a template head (Colin27: Oostenveld & Praamstra 2001),
which were made on that head's surface, and easycap's cap, which lies on a sphere. There the
distances are lengths of a smooth curve through the positions along the line (a cubic spline by
chord length), as a tape on the scalp would have them, not straight lines.
"""

from __future__ import annotations

from functools import lru_cache

import mne
import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from engine.chunk import Floats
from engine.practice.distances import distances, helper_marks
from engine.practice.doubts import LIKELY_SHARE, SPAN_SHARES
from engine.practice.head import Head

PER_CENT = {
    "nasion_inion": {"Fpz": 10, "Fz": 30, "Cz": 50, "Pz": 70, "Oz": 90},
    "preauricular": {"T3": 10, "C3": 30, "Cz": 50, "C4": 70, "T4": 90},
    "left": {"Fp1": 5, "F7": 15, "T3": 25, "T5": 35, "O1": 45},
    "right": {"Fp2": 5, "F8": 15, "T4": 25, "T6": 35, "O2": 45},
}
"""As published: of nasion to inion, of ear to ear from the left, of the circumference from Fpz."""

BUILTIN = mne.channels.get_builtin_montages()
COLIN = "colin27_1005" if "colin27_1005" in BUILTIN else "standard_1005"
"""MNE renamed it; `standard_1020` is a part of it."""

WITHIN = {COLIN: 1.3, "easycap-M1": 0.05}
"""Largest difference, per cent of the line. On Colin27 it is Fpz, 4.5 mm: the nasion that MNE
keeps for that head is not the one that its sites were made from."""

LINES = {
    "nasion_inion": "nasion Fpz AFz Fz FCz Cz CPz Pz POz Oz Iz",
    "preauricular": "lpa T7 C5 C3 C1 Cz C2 C4 C6 T8 rpa",
    "left": "Fpz Fp1 AF7 F7 FT7 T7 TP7 P7 PO7 O1 Oz",
    "right": "Fpz Fp2 AF8 F8 FT8 T8 TP8 P8 PO8 O2 Oz",
}
AROUND_LINE = LINES["left"] + " " + " ".join(reversed(LINES["right"].split()[:-1]))
OLDER = {"T7": "T3", "T8": "T4", "P7": "T5", "P8": "T6"}


@lru_cache
def positions(kind: str) -> dict[str, Floats]:
    """Return every position of a template, centimetres."""
    found = mne.channels.make_standard_montage(kind).get_positions()
    named = {**found["ch_pos"], **{k: found[k] for k in ("nasion", "lpa", "rpa")}}
    return {name: 100.0 * np.asarray(at, dtype=float) for name, at in named.items()}


def along(kind: str, line: str) -> dict[str, float]:
    """Return how far along a line each of its sites lies, centimetres."""
    names = line.split()
    points = np.array([positions(kind)[name] for name in names])
    chords = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    fine = np.linspace(0.0, chords[-1], 20001)
    steps = np.linalg.norm(np.diff(CubicSpline(chords, points)(fine), axis=0), axis=1)
    lengths = np.interp(chords, fine, np.concatenate([[0.0], np.cumsum(steps)]))
    return {OLDER.get(n, n): float(cm) for n, cm in zip(names, lengths, strict=True)}


@lru_cache
def template_head(kind: str) -> Head:
    around = along(kind, AROUND_LINE)["Fpz"]
    return Head(
        along(kind, LINES["nasion_inion"])["Iz"],
        along(kind, LINES["preauricular"])["rpa"],
        around,
    )


def ours(head: Head) -> dict[str, dict[str, float]]:
    """Return our distances, per cent of each line from its start as published."""
    found = {d.site.name: d for d in (*distances(head), *helper_marks(head))}
    per_cent: dict[str, dict[str, float]] = {line: {} for line in PER_CENT}
    for name, d in found.items():
        if d.cm is None:
            continue
        if d.site.line == "nasion-inion":
            per_cent["nasion_inion"][name] = 100 * d.cm / head.nasion_inion_cm
        elif d.site.line == "preauricular":
            sign = 1 if d.site.side == "right" else -1
            per_cent["preauricular"][name] = 50 + sign * 100 * d.cm / head.preauricular_cm
            if d.second_cm is not None:
                per_cent[d.site.side][name] = 100 * d.second_cm / head.circumference_cm
        else:
            per_cent[d.site.side][name] = 100 * d.cm / head.circumference_cm
    per_cent["preauricular"]["Cz"] = 50.0
    return per_cent


@pytest.mark.parametrize("head", [Head(36, 34, 56), Head(31.2, 30.7, 50.9), Head(40, 39, 61)])
def test_every_site_lies_at_the_published_share_of_its_line(head: Head) -> None:
    found = ours(head)
    for line, expected in PER_CENT.items():
        assert found[line] == pytest.approx(expected)


def test_a_head_of_36_34_and_56_cm_as_worked_by_hand() -> None:
    """36.0 nasion to inion, 34.0 ear to ear, 56.0 around: Cz 18.0, C4 6.8, and so on."""
    found = {d.site.name: d.cm for d in distances(Head(36.0, 34.0, 56.0))}
    worked = {
        "Fz": 10.8, "Cz": 18.0, "Pz": 25.2, "C3": 6.8, "C4": 6.8, "T3": 13.6, "T4": 13.6,
        "Fp1": 2.8, "Fp2": 2.8, "F7": 8.4, "F8": 8.4, "T5": 19.6, "T6": 19.6,
        "O1": 25.2, "O2": 25.2,
    }  # fmt: skip
    assert {name: found[name] for name in worked} == pytest.approx(worked)
    assert {name for name, cm in found.items() if cm is None} == set(
        ["F3", "F4", "P3", "P4", "A1", "A2"]
    )


@pytest.mark.parametrize("kind", WITHIN)
@pytest.mark.parametrize("line", LINES)
def test_every_site_lies_where_the_template_has_it(kind: str, line: str) -> None:
    head = template_head(kind)
    expected = along(kind, LINES[line])
    whole = {"left": head.circumference_cm, "right": head.circumference_cm}.get(
        line, max(expected.values())
    )
    found = ours(head)[line]
    assert len(found) == 5
    for name, per_cent in found.items():
        assert per_cent == pytest.approx(100 * expected[name] / whole, abs=WITHIN[kind]), name


@pytest.mark.parametrize("kind", WITHIN)
@pytest.mark.parametrize(
    ("site", "first", "second"),
    [
        ("F3", "Fz F1 F3 F5 F7", "C3 F3 Fp1"),
        ("F4", "Fz F2 F4 F6 F8", "C4 F4 Fp2"),
        ("P3", "Pz P1 P3 P5 P7", "C3 P3 O1"),
        ("P4", "Pz P2 P4 P6 P8", "C4 P4 O2"),
    ],
)
def test_both_constructions_lead_to_the_template_s_midway(
    kind: str, site: str, first: str, second: str
) -> None:
    """Half of the first span is it to 2 mm, half of the second to 6 mm."""
    for line, within_cm in ((first, 0.2), (second, 0.6)):
        lengths = along(kind, line)
        assert lengths[site] == pytest.approx(max(lengths.values()) / 2, abs=within_cm)


@pytest.mark.parametrize("kind", WITHIN)
def test_no_template_s_lengths_are_doubted(kind: str) -> None:
    head = template_head(kind)
    for cm in (head.nasion_inion_cm, head.preauricular_cm):
        assert LIKELY_SHARE[0] < cm / head.circumference_cm < LIKELY_SHARE[1]
    for line in ("Fz F1 F3 F5 F7", "Pz P2 P4 P6 P8", "C3 F3 Fp1", "C4 P4 O2"):
        low, high = SPAN_SHARES[line.split()[0]]
        assert low < max(along(kind, line).values()) / head.circumference_cm < high
