import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytestqt.qtbot import QtBot

from ui.plots import Picture, round_above
from ui.theme import DARK, Look


@pytest.mark.parametrize(
    ("value", "above"), [(0.9, 1.0), (1.0, 1.0), (1.1, 1.5), (7.0, 8.0), (23.0, 30.0), (81, 100)]
)
def test_a_scale_ends_at_a_round_number(value: float, above: float) -> None:
    assert round_above(value) == pytest.approx(above)


@given(st.floats(0.001, 1e5))
def test_a_scale_holds_its_value_and_at_most_twice_as_much(value: float) -> None:
    assert value * (1 - 1e-6) <= round_above(value) <= 2.0 * value


def test_a_height_in_pixels_and_its_value_belong_together(qtbot: QtBot) -> None:
    picture = Picture()
    qtbot.addWidget(picture)
    picture.resize(400, 200)
    picture.dress(Look(DARK, 1.0))
    picture.show()
    qtbot.waitExposed(picture)
    picture.show_range(-40.0, 0.0, 0.0, 10.0)
    for value in (0.0, 2.5, 9.0):
        assert picture.y_at(picture.pixel_of(value)) == pytest.approx(value, abs=0.1)
    assert np.diff([picture.pixel_of(value) for value in (0, 5, 10)]).max() < 0
