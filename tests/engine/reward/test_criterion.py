"""The criterion against its table, known sequences, and a naive restatement on whole arrays."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.events import State
from engine.reward.criterion import TABLE, CriterionState, Hold, Sign, Times, closeness, step

LETTERS = {"m": (True, False, True), "u": (True, False, False), "x": (True, True, True),
           "-": (False, False, True)}  # fmt: skip
"""A tick a letter: met, unmet, obscured (and met), not running (and met)."""

STATES = {
    State.STOPPED: "-", State.WAITING: "w", State.HOLDING: "h", State.QUIET: "q",
    State.OBSCURED: "x",
}  # fmt: skip


def run(ticks: str, n_hold: int, n_quiet: int) -> tuple[str, list[int]]:
    """Return the states, a letter a tick, and the ticks at which points fell."""
    criterion, times = CriterionState(), Times(n_hold, n_quiet)
    states, points = "", []
    for i, letter in enumerate(ticks):
        running, obscured, met = LETTERS[letter]
        criterion, verdict = step(criterion, times, running=running, obscured=obscured, met=met)
        states += STATES[verdict.state]
        points += [i] if verdict.point else []
    return states, points


CASES = [
    # ticks, hold, quiet, states, points
    ("mmmm", 4, 2, "hhhh", [3]),
    ("mmmu", 4, 2, "hhhw", []),
    ("mmummm", 3, 2, "hhwhhh", [5]),
    ("mmmmmmmm", 3, 2, "hhhqqhhh", [2, 7]),
    ("mmmuummm", 3, 2, "hhhqqhhh", [2, 7]),
    ("mmmmmmmm", 2, 0, "hhhhhhhh", [1, 3, 5, 7]),
    ("mmmmm", 1, 1, "hqhqh", [0, 2, 4]),
    ("mmxmmm", 3, 2, "hhxhhh", [5]),
    ("mmmxmmmm", 3, 2, "hhhxqhhh", [2, 7]),
    ("mmmxxxmmm", 3, 2, "hhhxxxhhh", [2, 8]),
    ("mm-mmm", 3, 2, "hh-hhh", [5]),
    ("mmm-mmm", 3, 4, "hhh-hhh", [2, 6]),
    ("----", 1, 0, "----", []),
    ("xxxx", 1, 0, "xxxx", []),
    ("uuuu", 1, 0, "wwww", []),
    ("uxu-xm", 2, 1, "wxw-xh", []),
]


@pytest.mark.parametrize(("ticks", "n_hold", "n_quiet", "states", "points"), CASES)
def test_a_sequence_of_ticks_comes_to_its_states_and_points(
    ticks: str, n_hold: int, n_quiet: int, states: str, points: list[int]
) -> None:
    assert run(ticks, n_hold, n_quiet) == (states, points)


def test_quiet_time_cannot_follow_a_wait_or_a_stop() -> None:
    absent = set(itertools.product(State, Sign)) - set(TABLE)
    assert absent == {(State.STOPPED, Sign.RESTING), (State.WAITING, Sign.RESTING)}


def test_an_illegal_pair_raises_and_gives_no_state() -> None:
    impossible = CriterionState(State.WAITING, held=0, quiet_left=3)
    with pytest.raises(KeyError):
        step(impossible, Times(3, 3), running=True, obscured=False, met=True)


@pytest.mark.parametrize("pair", TABLE)
def test_every_state_is_what_its_sign_says(pair: tuple[State, Sign]) -> None:
    says = {
        Sign.OFF: State.STOPPED,
        Sign.HIDDEN: State.OBSCURED,
        Sign.RESTING: State.QUIET,
        Sign.MET: State.HOLDING,
        Sign.UNMET: State.WAITING,
    }
    state, hold = TABLE[pair]
    assert state is says[pair[1]]
    if state is State.HOLDING:
        assert hold is (Hold.COUNT if pair[0] is State.HOLDING else Hold.BEGIN)
    else:
        assert hold in (Hold.NONE, Hold.BREAK)


def test_progress_rises_to_one_with_the_point_and_returns_to_zero() -> None:
    criterion, progress = CriterionState(), []
    for met in (True, True, True, True, True, False, True):
        criterion, verdict = step(criterion, Times(4, 1), running=True, obscured=False, met=met)
        progress.append(verdict.progress)
    assert progress == [0.25, 0.5, 0.75, 1.0, 0.0, 0.0, 0.25]


def restated(ticks: str, n_hold: int, n_quiet: int) -> list[int]:
    """Find the points on the whole sequence: cut it at points, and look for runs of met ticks.

    From each place where a hold may begin, the first run of ``n_hold`` unbroken met ticks ends in
    a point; the search goes on after the quiet ticks, or where the round was stopped, if sooner.
    """
    met = np.array([letter == "m" for letter in ticks], dtype=int)
    runs = np.convolve(met, np.ones(n_hold, dtype=int))[: met.size]
    ends = np.flatnonzero(runs == n_hold)
    stops = np.array([i for i, letter in enumerate(ticks) if letter == "-"])
    points: list[int] = []
    begin = 0
    while True:
        later = ends[ends >= begin + n_hold - 1]
        if not later.size:
            return points
        point = int(later[0])
        points.append(point)
        begin = point + 1 + n_quiet
        stopped = stops[(stops > point) & (stops < begin)]
        if stopped.size:
            begin = int(stopped[0])


sequences = st.text(alphabet="mmmmmuux-", min_size=1, max_size=120)
hold_ticks, quiet_ticks = st.integers(1, 6), st.integers(0, 8)


@given(sequences, hold_ticks, quiet_ticks)
def test_the_points_are_those_of_a_naive_restatement(ticks: str, n_hold: int, n_quiet: int) -> None:
    assert run(ticks, n_hold, n_quiet)[1] == restated(ticks, n_hold, n_quiet)


@given(sequences, hold_ticks, quiet_ticks)
def test_no_point_falls_on_a_tick_that_is_hidden_unmet_or_outside_a_round(
    ticks: str, n_hold: int, n_quiet: int
) -> None:
    for point in run(ticks, n_hold, n_quiet)[1]:
        assert ticks[point - n_hold + 1 : point + 1] == "m" * n_hold


@given(st.text(alphabet="mmmmmuux", max_size=120), hold_ticks, quiet_ticks)
def test_two_points_are_at_least_a_hold_and_the_quiet_time_apart(
    ticks: str, n_hold: int, n_quiet: int
) -> None:
    """Which is the ceiling on the rate."""
    points = run(ticks, n_hold, n_quiet)[1]
    assert all(gap >= n_hold + n_quiet for gap in np.diff(points))


@given(st.text(alphabet="mux", max_size=120), hold_ticks, quiet_ticks)
def test_exactly_the_quiet_ticks_after_a_point_hold_nothing(
    ticks: str, n_hold: int, n_quiet: int
) -> None:
    states, points = run(ticks + "m" * 20, n_hold, n_quiet)
    for point in points:
        after = states[point + 1 : point + 1 + n_quiet]
        assert set(after) <= {"q", "x"}
        assert "q" not in states[point + 1 + n_quiet : point + 2 + n_quiet]


@given(
    st.lists(st.tuples(st.sampled_from("mmmmux"), st.booleans()), max_size=120),
    hold_ticks,
    quiet_ticks,
)
def test_what_takes_met_ticks_away_never_earns_more_points_by_any_time(
    ticks: list[tuple[str, bool]], n_hold: int, n_quiet: int
) -> None:
    clean = "".join(letter for letter, _ in ticks)
    spoilt = "".join("x" if hidden else letter for letter, hidden in ticks)
    more, fewer = run(clean, n_hold, n_quiet)[1], run(spoilt, n_hold, n_quiet)[1]
    for number, point in enumerate(fewer):
        assert number < len(more)
        assert more[number] <= point


@pytest.mark.parametrize(
    ("amplitudes", "near"),
    [
        ((5.0, 4.0), 1.0),  # both met, at the threshold
        ((4.0, 5.0), 1.0),  # more than met
        ((10.0, 4.0), 0.0),  # twice what is allowed
        ((20.0, 4.0), 0.0),
        ((5.0, 3.0), 0.5),  # three quarters of what is wanted
        ((5.0, 2.0), 0.0),
        ((6.25, 3.6), 0.6),  # the least of 0.6 and 0.8
        ((0.0, 0.0), 0.0),
    ],
)
def test_closeness_is_that_of_the_condition_that_is_furthest(
    amplitudes: tuple[float, float], near: float
) -> None:
    """Below 5 µV, and above 4 µV."""
    assert closeness(amplitudes, (5.0, 4.0), (False, True)) == pytest.approx(near)


@given(st.lists(st.tuples(st.floats(0, 1e6), st.floats(0.05, 1000), st.booleans()), min_size=1))
def test_closeness_lies_between_zero_and_one_and_is_one_when_all_are_met(
    conditions: list[tuple[float, float, bool]],
) -> None:
    amplitudes, thresholds, above = zip(*conditions, strict=True)
    near = closeness(amplitudes, thresholds, above)
    met = all(a >= t if up else a <= t for a, t, up in conditions)
    assert 0.0 <= near <= 1.0
    assert near == 1.0 or not met
    assert met or near < 1.0
