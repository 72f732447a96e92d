"""Values out of TOML: checked, collected, and answered in one sentence a mistake."""

from typing import Any

import pytest

from engine.errors import ConfigError
from engine.toml_checks import Table, raise_mistakes


def table(**values: Any) -> Table:
    return Table(values, "site.toml", [])


def test_what_is_right_comes_back_as_it_is() -> None:
    here = table(a=2, b=0.5, c="text", d=["x", "y"], e=True, f="red", g={"h": 1}, i=[{"j": 2}])
    assert here.count("a", 1, 3) == 2
    assert here.number("b", 0, 1) == 0.5
    assert here.text("c") == "text"
    assert here.texts("d") == ("x", "y")
    assert here.flag("e") is True
    assert here.choice("f", ("red", "blue")) == "red"
    assert here.table("g").number("h", 0, 2) == 1.0
    assert [inner.count("j", 0, 5) for inner in here.tables("i")] == [2]
    here.close()
    assert here.mistakes == []
    raise_mistakes(here.mistakes)


def test_what_is_absent_takes_its_default() -> None:
    here = table()
    assert here.number("a", 0, 9, "s", 3.0) == 3.0
    assert here.number_or_none("a", 0, 9) is None
    assert here.text("b", "") == ""
    assert here.tables("c") == []
    assert here.table("d").flag("e", False) is False
    assert here.mistakes == []


def test_a_whole_number_serves_as_a_number() -> None:
    value = table(a=3).number("a", 0, 9)
    assert value == 3.0
    assert isinstance(value, float)


@pytest.mark.parametrize("value", [-0.1, 9.1, "3", True, None, [3], float("nan"), float("inf")])
def test_any_other_value_is_answered_with_the_range(value: Any) -> None:
    here = table(a=value)
    here.number("a", 0, 9, "s")
    assert here.mistakes == [
        f"site.toml: a is {value!r}, but a number from 0 to 9 s is accepted; correct the number."
    ]


def test_what_is_missing_says_which_line_to_add() -> None:
    here = table()
    here.number("a", 0, 9)
    assert here.mistakes == [
        "site.toml: a is missing, but a number from 0 to 9 is accepted; add a line `a = ...`."
    ]


def test_a_place_in_a_list_is_counted_from_one() -> None:
    here = table(lane=[{}, {"width": 7}])
    for lane in here.tables("lane"):
        lane.count("width", 1, 5, 3)
    assert here.mistakes == [
        "site.toml: lane[2].width is 7, but a whole number from 1 to 5 is accepted; "
        "correct the number."
    ]


def test_a_misspelt_key_is_never_passed_over() -> None:
    here = table(widht=3)
    here.number("width", 0, 9, "", 1.0)
    here.close()
    (sentence,) = here.mistakes
    assert sentence.startswith("site.toml: widht is not a known key, but only width are accepted")


def test_all_mistakes_are_raised_together_a_line_each() -> None:
    here = table(a=99, b="x")
    here.number("a", 0, 9)
    here.flag("b")
    with pytest.raises(ConfigError) as raised:
        raise_mistakes(here.mistakes)
    assert str(raised.value).splitlines() == here.mistakes
    assert len(here.mistakes) == 2
