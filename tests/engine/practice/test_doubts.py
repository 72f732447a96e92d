import pytest

from engine.practice.doubts import asymmetries, doubts
from engine.practice.head import Head, measured


def asked(*lengths: float, unit: str = "cm", **more: object) -> tuple[str, ...]:
    return doubts(measured(unit, *lengths, **more))  # type: ignore[arg-type]


@pytest.mark.parametrize("lengths", [(36, 34, 56), (32, 31, 50), (38.5, 37, 60)])
def test_heads_as_they_come_raise_no_question(lengths: tuple[float, float, float]) -> None:
    assert asked(*lengths) == ()


def test_a_length_that_no_head_has_is_questioned_with_its_range() -> None:
    assert asked(26, 34, 56) == (
        "Nasion to inion is 26.0 cm; most heads have 29.0 to 42.0 cm. Measured right?",
    )
    assert asked(36, 34, 70)[0].startswith("The line around the head is 70.0 cm; most heads have")


def test_centimetres_given_as_inches_are_noticed() -> None:
    found = asked(36, 34, 56, unit="in")
    assert len(found) == 3
    assert all("read in cm it would be likely" in question for question in found)
    assert "read in in it would be likely" in asked(14.2, 13.4, 22.0)[0]


def test_lengths_that_do_not_belong_to_one_head_are_questioned() -> None:
    (question,) = asked(30, 34, 60)
    assert question.startswith("Nasion to inion is 30.0 cm, but with 60.0 cm around the head 32.4")


def test_a_span_that_this_head_cannot_have_is_questioned() -> None:
    assert asked(36, 34, 56, spans={"F7-Fz": 11.0, "Fp1-C3": 12.6}) == ()
    (question,) = asked(36, 34, 56, spans={"F7-Fz": 16.0})
    assert question == "Fz to F7 is 16.0 cm; on this head 8.4 to 13.4 cm is likely. Measured right?"


def test_halves_are_told_and_a_large_difference_is_questioned() -> None:
    head = measured("cm", 36, 34, 56, preauricular_halves=(17.3, 16.7))
    assert asymmetries(head) == (
        "Ear to ear: left 17.3 cm, right 16.7 cm: the left is 0.6 cm longer. "
        "The middle is 0.3 cm further to the left.",
    )
    assert doubts(head) == ()
    (question,) = asked(36, 34, 56, circumference_halves=(27.2, 28.8))
    assert question == (
        "The line around the head: left 27.2 cm, right 28.8 cm: the right is 1.6 cm longer. "
        "Measure both halves again."
    )


def test_even_halves_are_told_to_be_even() -> None:
    head = measured("cm", 36, 34, 56, circumference_halves=(28.0, 28.0))
    assert asymmetries(head)[0].endswith("even.")
    assert asymmetries(Head(36, 34, 56)) == ()


def test_halves_that_do_not_make_the_whole_are_questioned() -> None:
    (question,) = asked(36, 34, 56, preauricular_halves=(16.4, 16.4))
    assert "the halves make 32.8 cm, but the whole is 34.0 cm" in question
