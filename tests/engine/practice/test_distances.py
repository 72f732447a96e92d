import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.practice.distances import distance_of, distances, helper_marks, second_way, sentence
from engine.practice.head import Head, measured
from engine.practice.sites import SITES, find_site

HEAD = Head(36.0, 34.0, 56.0)
BOTH = {"F7-Fz": 12.4, "Fp1-C3": 13.6}


def said(label: str, head: Head = HEAD) -> str:
    site = find_site(label)
    assert site is not None
    return sentence(distance_of(site, head), head.unit, label)


def other(label: str, head: Head) -> str:
    site = find_site(label)
    assert site is not None
    return second_way(distance_of(site, head), head.unit)


def test_the_hands_go_along_one_line_after_the_other() -> None:
    names = " ".join(found.site.name for found in distances(HEAD))
    assert names == "Fz Cz Pz C3 C4 T3 T4 Fp1 F7 T5 O1 Fp2 F8 T6 O2 F3 F4 P3 P4 A1 A2"
    assert [found.site.name for found in helper_marks(HEAD)] == ["Fpz", "Oz"]


def test_nothing_is_measured_from_a_site_that_is_not_marked_yet() -> None:
    marked = {"nasion", "Fpz", "left ear lobe", "right ear lobe"}
    for site in SITES:
        ends = {end for span in site.spans for end in span} or {site.start}
        assert ends <= marked
        marked.add(site.name)


@pytest.mark.parametrize(
    ("label", "words"),
    [
        ("Cz", "Cz: 18.0 cm from the nasion on the line over the top to the inion"),
        ("C4", "C4: 6.8 cm to the right of Cz on the line between the ears"),
        ("T8", "T8: 13.6 cm to the right of Cz on the line between the ears"),
        ("O1", "O1: 25.2 cm to the left of Fpz on the line around the head"),
        ("Oz", "Oz: 32.4 cm from the nasion on the line over the top to the inion"),
        ("F4", "F4: measure Fz to F8 and C4 to Fp2; half-way on each"),
        ("A2", "A2: the right ear lobe; for M2 the bone behind the ear"),
        ("M1", "M1: the mastoid, the bone behind the left ear"),
    ],
)
def test_a_hand_is_told_in_one_sentence(label: str, words: str) -> None:
    assert said(label) == words


def test_inches_are_told_in_sixteenths_too() -> None:
    head = measured("in", 14, 13.4, 22)
    assert (
        said("C4", head) == "C4: 2.68 in (2 11/16) to the right of Cz on the line between the ears"
    )


def test_a_temporal_site_is_checked_along_the_line_around_the_head() -> None:
    check = "check: 14.0 cm to the left of Fpz on the line around the head"
    assert other("T3", HEAD) == check
    assert other("C3", HEAD) == ""


def test_a_midway_is_half_of_each_of_its_two_spans() -> None:
    head = measured("cm", 36, 34, 56, spans=BOTH)
    assert said("F3", head) == "F3: 6.2 cm from Fz towards F7, and 6.8 cm from C3 towards Fp1"
    assert other("F3", head) == "the two marks should meet: measure how far apart they lie"
    assert other("F4", head) == ""


def test_one_span_alone_does_not_give_a_midway() -> None:
    for name, length in BOTH.items():
        head = measured("cm", 36, 34, 56, spans={name: length})
        found = next(found for found in distances(head) if found.site.name == "F3")
        assert (found.cm, found.second_cm) == (None, None)


@pytest.mark.parametrize(
    ("apart", "words"),
    [
        (0.0, "the two marks meet"),
        (0.6, "the two marks lie 0.6 cm apart: take the middle between them"),
        (1.0, "the two marks lie 1.0 cm apart: take the middle between them"),
        (1.4, "the two marks lie 1.4 cm apart: measure both spans again"),
    ],
)
def test_the_disagreement_of_two_marks_is_told(apart: float, words: str) -> None:
    assert other("F3", measured("cm", 36, 34, 56, spans=BOTH, apart={"F3": apart})) == words


@given(st.floats(20, 60), st.floats(20, 60), st.floats(30, 90))
def test_left_and_right_are_mirror_images(nasion: float, ears: float, around: float) -> None:
    found = {f.site.name: f for f in distances(Head(nasion, ears, around))}
    for pair in ("C3 C4", "T3 T4", "Fp1 Fp2", "F7 F8", "T5 T6", "O1 O2"):
        left, right = pair.split()
        assert found[left].cm == found[right].cm
        assert (found[left].site.side, found[right].site.side) == ("left", "right")


@pytest.mark.parametrize("label", ["C4", "c4", "EEG C4", "C4..", "C4 - A2", "C4-A1"])
def test_a_site_is_found_by_what_a_protocol_writes(label: str) -> None:
    assert find_site(label) is SITES[4]


@pytest.mark.parametrize("label", ["", "linked ears", "X9", "Cz3"])
def test_what_is_no_site_is_not_found(label: str) -> None:
    assert find_site(label) is None


def test_older_and_newer_names_are_one_site() -> None:
    for old, new in (("T3", "T7"), ("T4", "T8"), ("T5", "P7"), ("T6", "P8")):
        assert find_site(old) is find_site(new)
