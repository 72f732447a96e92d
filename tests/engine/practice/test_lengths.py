import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import ConfigError
from engine.practice.lengths import amount, bare, in_unit, read_length, to_cm


@pytest.mark.parametrize(
    ("written", "length"),
    [("36", 36.0), (" 36.5 ", 36.5), ("36,5", 36.5), ("14 1/4", 14.25), ("3/8", 0.375)],
)
def test_a_length_is_read_as_hands_write_it(written: str, length: float) -> None:
    assert read_length(written) == length


@pytest.mark.parametrize("written", ["", "wide", "-3", "0", "nan", "inf", "1/0", "3 6", "36 cm"])
def test_what_is_no_length_is_not_read(written: str) -> None:
    assert read_length(written) is None


def test_an_inch_is_2_54_cm() -> None:
    assert to_cm("nasion-inion", 14.0, "in") == pytest.approx(35.56)
    assert in_unit(35.56, "in") == 14.0


@given(st.floats(0.1, 78.0))
def test_a_length_comes_back_from_inches(length: float) -> None:
    assert in_unit(to_cm("x", length, "in"), "in") == pytest.approx(length, abs=1e-5)


@pytest.mark.parametrize("value", [0.0, -1.0, 201.0, float("nan"), float("inf")])
def test_what_no_tape_shows_is_refused_by_name(value: float) -> None:
    with pytest.raises(ConfigError, match=r"circumference is .* above 0 and up to 200 cm"):
        to_cm("circumference", value, "cm")


def test_another_unit_is_refused() -> None:
    with pytest.raises(ConfigError, match="unit is 'mm', but cm or in"):
        to_cm("circumference", 560.0, "mm")


def test_an_inch_tape_has_sixteenths() -> None:
    assert amount(2.6875 * 2.54, "in") == "2.69 in (2 11/16)"
    assert amount(2.5 * 2.54, "in") == "2.50 in (2 1/2)"
    assert amount(0.25 * 2.54, "in") == "0.25 in (1/4)"
    assert amount(2.99 * 2.54, "in") == "2.99 in (3)"
    assert amount(0.0, "in") == "0.00 in (0)"


def test_a_centimetre_tape_has_millimetres() -> None:
    assert (amount(6.8, "cm"), bare(13.0, "cm")) == ("6.8 cm", "13.0")
