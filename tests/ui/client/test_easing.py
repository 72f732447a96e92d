import pytest
from hypothesis import given
from hypothesis import strategies as st

from ui.client.easing import ramp, soft, towards

shares = st.floats(0, 1)
times = st.floats(0.001, 2)


def test_after_one_time_constant_63_percent_of_the_way_is_gone() -> None:
    assert towards(0.0, 1.0, 0.5, rise_s=0.5, fall_s=9.0) == pytest.approx(0.632, abs=1e-3)
    assert towards(1.0, 0.0, 2.0, rise_s=0.1, fall_s=2.0) == pytest.approx(0.368, abs=1e-3)


@given(shares, shares, times, st.integers(1, 50))
def test_the_path_does_not_depend_on_how_often_it_is_drawn(
    value: float, target: float, seconds: float, steps: int
) -> None:
    at_once = towards(value, target, seconds, 0.3, 1.8)
    in_steps = value
    for _ in range(steps):
        in_steps = towards(in_steps, target, seconds / steps, 0.3, 1.8)
    assert in_steps == pytest.approx(at_once, abs=1e-9)


@given(shares, shares, times)
def test_nothing_moves_past_its_target(value: float, target: float, seconds: float) -> None:
    low, high = sorted((value, target))
    assert low - 1e-12 <= towards(value, target, seconds, 0.2, 0.4) <= high + 1e-12
    assert low - 1e-12 <= ramp(value, target, seconds, 0.7) <= high + 1e-12


def test_a_ramp_takes_its_length() -> None:
    assert ramp(0.0, 1.0, 0.4, length_s=0.8) == pytest.approx(0.5)
    assert ramp(1.0, 0.0, 0.8, length_s=0.8) == pytest.approx(0.0)


def test_a_soft_ramp_keeps_its_ends_and_its_middle() -> None:
    assert [soft(share) for share in (-1.0, 0.0, 0.5, 1.0, 2.0)] == [0.0, 0.0, 0.5, 1.0, 1.0]
