"""The recent amplitudes: what is gathered, how it is averaged, and its last clear minute."""

import numpy as np
import pytest

from engine.events import Reason, State, Tick
from engine.reward.recent import Recent, Window


def tick(number: int, state: State, fast: float) -> Tick:
    reasons = (Reason.MUSCLE,) if state is State.OBSCURED else ()
    return Tick(number, number, 0.02 * number, (fast,), (fast,), (True,), state, reasons, 0.0, 1.0)


def test_ticks_outside_a_round_are_passed_over_and_hidden_ones_marked() -> None:
    recent = Recent(0.02, 1)
    states = [State.STOPPED, State.WAITING, State.OBSCURED, State.QUIET]
    for i, state in enumerate(states):
        recent.add(tick(i, state, float(i)))
    window = recent.window()
    assert window.fast_uv[:, 0].tolist() == [1.0, 2.0, 3.0]
    assert window.clear.tolist() == [True, False, True]
    assert window.clear_s == pytest.approx(0.04)


def test_only_the_longest_stretch_is_kept() -> None:
    recent = Recent(0.02, 1, longest_s=0.1)
    for i in range(9):
        recent.add(tick(i, State.WAITING, float(i)))
    assert recent.window().fast_uv[:, 0].tolist() == [4.0, 5.0, 6.0, 7.0, 8.0]


def test_nothing_gathered_is_an_empty_window() -> None:
    assert Recent(0.02, 1).window().clear_s == 0


def test_each_condition_is_averaged_over_its_own_number_of_ticks() -> None:
    window = Window(np.array([[1.0, 1.0], [2.0, 2.0], [6.0, 6.0]]), np.ones(3, bool), 0.02)
    means = window.averaged((1, 3))
    assert means[:, 0].tolist() == [1.0, 2.0, 6.0]
    assert np.isnan(means[:2, 1]).all() and means[2, 1] == 3.0


def test_an_averaging_longer_than_the_window_is_nowhere_known() -> None:
    window = Window(np.ones((3, 1)), np.ones(3, bool), 0.02)
    assert np.isnan(window.averaged((4,))).all()


def test_the_last_clear_time_reaches_back_over_what_was_hidden() -> None:
    clear = np.array([True, True, False, False, True, True])
    window = Window(np.arange(6.0)[:, np.newaxis], clear, 1.0)
    assert window.last_clear(3).fast_uv[:, 0].tolist() == [1.0, 2.0, 3.0, 4.0, 5.0]
    assert window.last_clear(60).clear.shape == (6,)
