from collections.abc import Sequence

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from engine.events import Reason, State, Tick
from engine.session.messages import Batch
from ui.monitor.history import Recent, TickHistory, TraceHistory, averages, extremes

TICK_S = 0.02


def tick(number: int, amplitude: float = 5.0, met: bool = True, *reasons: Reason) -> Tick:
    state = State.OBSCURED if reasons else State.WAITING
    time_s = number * TICK_S
    return Tick(
        number, number * 5, time_s, (amplitude,), (amplitude,), (met,), state, reasons, 0.0, 0.0
    )


def history(ticks: Sequence[Tick], span_s: float = 10.0) -> TickHistory:
    kept = TickHistory(1, TICK_S, span_s)
    kept.append(tuple(ticks), (4.0,))
    return kept


@given(st.lists(st.integers(0, 30), max_size=20))
def test_the_newest_rows_are_kept_in_order_however_they_arrive(sizes: list[int]) -> None:
    recent = Recent(capacity=25, width=1)
    everything = np.arange(float(sum(sizes)))[:, None]
    start = 0
    for size in sizes:
        recent.append(everything[start : start + size])
        start += size
    assert np.array_equal(recent.rows, everything[-25:])


def test_a_hidden_stretch_is_one_span_that_names_all_but_the_guard() -> None:
    hidden = [
        tick(10, 5.0, True, Reason.STEP),
        tick(11, 5.0, True, Reason.AMPLITUDE, Reason.GUARD),
        tick(12, 5.0, True, Reason.GUARD),
    ]
    kept = history([tick(9), *hidden, tick(13), tick(20, 5.0, True, Reason.MUSCLE)])
    first, second = kept.spans
    assert first.reasons == (Reason.STEP, Reason.AMPLITUDE)
    assert (round(first.start_s, 6), round(first.end_s, 6)) == (0.18, 0.24)
    assert second.reasons == (Reason.MUSCLE,)


def test_nothing_counts_as_met_while_the_signal_is_hidden() -> None:
    kept = history([tick(1), tick(2, 5.0, True, Reason.FLAT), tick(3, 5.0, False)])
    assert kept.met[:, 0].tolist() == [True, False, False]


def test_a_hidden_moment_is_remembered_for_as_long_as_it_is_asked_for() -> None:
    kept = history([tick(1, 5.0, True, Reason.MUSCLE), *(tick(n) for n in range(2, 22))])
    assert kept.hidden_since(0.5) is not None
    assert kept.hidden_since(0.3) is None


def test_spans_that_left_the_picture_are_forgotten() -> None:
    kept = history([tick(1, 5.0, True, Reason.MUSCLE), tick(2), tick(700)], span_s=10.0)
    assert kept.spans == ()


def test_quiet_time_is_counted_from_the_point() -> None:
    kept = history([tick(50)])
    kept.point(1.0)
    assert kept.quiet_elapsed_s == 0.0
    quiet = Tick(60, 300, 1.2, (5.0,), (5.0,), (True,), State.QUIET, (), 0.0, 0.0)
    kept.append((quiet,), (4.0,))
    assert abs(kept.quiet_elapsed_s - 0.2) < 1e-9


def test_a_trace_gets_its_times_from_its_end() -> None:
    trace = TraceHistory(1, 250.0, 10.0)
    trace.append(Batch((), np.array([[1.0], [2.0], [3.0]]), 4.0, lost_samples=7))
    assert trace.times_s.tolist() == [3.992, 3.996, 4.0]
    assert trace.trace_uv[:, 0].tolist() == [1.0, 2.0, 3.0]
    assert trace.lost_samples == 7


@given(st.lists(st.floats(-1e3, 1e3), min_size=1, max_size=300), st.floats(0.01, 0.5))
def test_thinning_a_trace_loses_neither_its_highest_nor_its_lowest_value(
    values: list[float], bin_s: float
) -> None:
    _, thin = extremes(np.arange(len(values)) / 250.0, np.array(values), bin_s)
    assert np.nanmax(thin) == max(values)
    assert np.nanmin(thin) == min(values)


def test_a_hole_in_the_trace_stays_a_hole() -> None:
    times = np.array([0.0, 0.1, 0.2, 2.0, 2.1])
    x, y = extremes(times, np.ones(5), 0.1)
    assert np.isnan(y).sum() == 1
    assert 0.2 < x[np.isnan(y)][0] < 2.0


def test_missing_values_are_left_out_of_the_picture() -> None:
    x, y = extremes(np.array([0.0, 0.1]), np.array([np.nan, np.nan]), 0.1)
    assert x.size == 0
    assert y.size == 0


def test_a_line_is_thinned_to_means_and_a_bin_is_met_when_most_of_it_is() -> None:
    times = np.array([0.01, 0.05, 0.09, 0.11, 0.15])
    values = np.array([[1.0], [2.0], [3.0], [8.0], [10.0]])
    met = np.array([[True], [True], [False], [False], [False]])
    x, y, share = averages(times, values, met, 0.1)
    assert np.allclose(x, [0.05, 0.15])
    assert y[:, 0].tolist() == [2.0, 9.0]
    assert share[:, 0].tolist() == [True, False]


def test_a_picture_that_moves_does_not_shimmer() -> None:
    """The same bins come out whatever stretch of the same line is thinned."""
    rng = np.random.default_rng(3)
    times = np.linspace(0.0, 1000 * TICK_S, 1000, endpoint=False)
    values = rng.standard_normal((1000, 1))
    met = values > 0
    x, y, _ = averages(times, values, met, 0.1)
    later_x, later_y, _ = averages(times[303:], values[303:], met[303:], 0.1)
    assert np.array_equal(later_x[1:], x[-later_x.size + 1 :])
    assert np.allclose(later_y[1:], y[-later_y.size + 1 :])


def test_a_hole_in_a_line_stays_a_hole_and_is_not_met() -> None:
    times = np.array([0.0, 0.1, 5.0])
    x, y, met = averages(times, np.ones((3, 1)), np.ones((3, 1), dtype=bool), 0.1)
    assert np.isnan(y[:, 0]).tolist() == [False, False, True, False]
    assert met[:, 0].tolist() == [True, True, False, True]
    assert np.all(np.diff(x) > 0)
