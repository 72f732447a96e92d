import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import ConfigError
from engine.events import Reason, State, StretchStart, StretchStop, Tick
from engine.session.stretches import Stretches, result_from

TICK_S = 0.02


def tick(n: int, clear: bool = True, uv: float = 5.0, state: State = State.STOPPED) -> Tick:
    reasons = () if clear else (Reason.BLINK,)
    return Tick(
        n, 5 * n + 4, n * TICK_S, (uv, 2 * uv), (uv + 1, uv), (True, True), state, reasons, 0, 1
    )


def run(stretches: Stretches, clear: list[bool]) -> StretchStop | None:
    """Feed ticks until the stretch ends."""
    for n, is_clear in enumerate(clear):
        if (stop := stretches.add(tick(n, is_clear))) is not None:
            return stop
    return None


def begun(what: str, wanted_s: float) -> Stretches:
    stretches = Stretches(TICK_S, 2)
    assert stretches.start(what, wanted_s, 0, 0.0) == (StretchStart(0, 0.0, what),)
    return stretches


def test_a_baseline_ends_when_so_much_time_was_clear() -> None:
    stretches = begun("baseline before", 2.0)
    stop = run(stretches, [True, False] * 150)
    assert stop == StretchStop(5 * 198 + 5, 198 * TICK_S, "baseline before")
    result = stretches.results["baseline before"]
    assert result.clear_s == pytest.approx(2.0)
    assert result.elapsed_s == pytest.approx(199 * TICK_S)
    assert result.clear_share == pytest.approx(100 / 199)


def test_a_check_ends_when_the_time_is_over_clear_or_not() -> None:
    stretches = begun("clench", 2.0)
    stop = run(stretches, [False] * 150)
    assert stop is not None and stop.onset_s == pytest.approx(99 * TICK_S)
    result = stretches.results["clench"]
    assert result.elapsed_s == pytest.approx(2.0)
    assert result.clear_s == 0.0
    assert all(math.isnan(mean) for mean in result.mean_uv)


def test_means_are_those_of_the_clear_ticks() -> None:
    stretches = begun("baseline before", 1.0)
    for n in range(25):
        stretches.add(tick(2 * n, uv=4.0))
        stretches.add(tick(2 * n + 1, clear=False, uv=400.0))
    for n in range(50, 75):
        stretches.add(tick(n, uv=6.0))
    result = stretches.results["baseline before"]
    assert result.mean_uv == pytest.approx((5.0, 10.0))
    assert result.sd_uv == pytest.approx((1.0, 2.0))


def test_the_view_tells_how_far_it_is_and_why_it_waits() -> None:
    stretches = begun("baseline before", 4.0)
    run(stretches, [True] * 50 + [False] * 50)
    view = stretches.view
    assert view is not None
    assert view.elapsed_s == pytest.approx(2.0)
    assert view.clear_s == pytest.approx(1.0)
    assert view.progress == pytest.approx(0.25)
    assert view.reasons == (Reason.BLINK,)
    assert stretches.running == "baseline before"


def test_nothing_runs_before_a_start_and_after_the_end() -> None:
    stretches = Stretches(TICK_S, 2)
    assert stretches.add(tick(0)) is None
    assert stretches.stop("operator", 0, 0.0) is None
    assert stretches.view is None and stretches.results == {}


def test_stopping_by_hand_keeps_what_there_is_and_says_why() -> None:
    stretches = begun("baseline after", 180.0)
    run(stretches, [True] * 100)
    assert stretches.stop("operator", 500, 2.0) == StretchStop(
        500, 2.0, "baseline after", "operator"
    )
    result = stretches.results["baseline after"]
    assert result.why == "operator"
    assert result.clear_s == pytest.approx(2.0)
    assert stretches.view is None


def test_another_stretch_and_a_round_break_it_off() -> None:
    stretches = begun("rest", 10.0)
    stopped, started = stretches.start("clench", 5.0, 70, 0.3)
    assert stopped == StretchStop(70, 0.3, "rest", "another began")
    assert started == StretchStart(70, 0.3, "clench")
    stop = stretches.add(tick(20, state=State.WAITING))
    assert stop == StretchStop(105, 20 * TICK_S, "clench", "a round began")


def test_the_window_holds_every_tick_before_averaging() -> None:
    stretches = begun("baseline before", 1.0)
    run(stretches, [True, True, False] * 40)
    window = stretches.window("baseline before")
    assert window is not None
    assert window.clear_s == pytest.approx(1.0)
    assert window.fast_uv.shape == (74, 2)
    assert window.fast_uv[0].tolist() == [6.0, 5.0]
    assert stretches.window("baseline after") is None


def test_a_baseline_without_clear_signal_ends_some_day() -> None:
    stretches = Stretches(1.0, 2)
    stretches.start("baseline before", 60.0, 0, 0.0)
    ends = [stop for n in range(1900) if (stop := stretches.add(tick(n, clear=False)))]
    assert [stop.why for stop in ends] == ["too little was clear"]
    assert stretches.results["baseline before"].elapsed_s == pytest.approx(1800)


@pytest.mark.parametrize(
    ("what", "wanted_s", "said"),
    [("nap", 10.0, "stretch is 'nap'"), ("rest", 0.0, "1 to 1800 s"), ("rest", math.nan, "nan")],
)
def test_what_cannot_begin_is_said_and_changes_nothing(
    what: str, wanted_s: float, said: str
) -> None:
    stretches = begun("blink", 5.0)
    with pytest.raises(ConfigError, match=said):
        stretches.start(what, wanted_s, 9, 0.1)
    assert stretches.running == "blink"


def test_a_result_is_written_down_as_json_and_read_back() -> None:
    stretches = begun("baseline before", 1.0)
    run(stretches, [True] * 60)
    result = stretches.results["baseline before"]
    values = result.values(("theta", "smr"))
    assert values["mean_uv"] == {"theta": 5.0, "smr": 10.0}
    assert result_from(json.loads(json.dumps(values, allow_nan=False))) == result
    stretches.start("clench", 1.0, 0, 0.0)
    run(stretches, [False] * 60)
    nothing = stretches.results["clench"].values(("theta", "smr"))
    assert nothing["mean_uv"] == {"theta": None, "smr": None}
    assert math.isnan(result_from(nothing).mean_uv[0])


@given(st.lists(st.booleans(), max_size=400), st.floats(1.0, 4.0))
def test_a_baseline_has_exactly_the_clear_time_that_was_wanted(
    clear: list[bool], wanted_s: float
) -> None:
    stretches = Stretches(TICK_S, 2)
    stretches.start("baseline before", wanted_s, 0, 0.0)
    stop = run(stretches, clear)
    if stop is None:
        assert sum(clear) * TICK_S < wanted_s
    else:
        clear_s = stretches.results["baseline before"].clear_s
        assert wanted_s - 1e-6 <= clear_s < wanted_s + TICK_S
