from engine.events import RoundStart, RoundStop
from engine.protocol import Rounds
from engine.session.rounds import RoundsPlan, RoundsState

PLAN = RoundsPlan.of(Rounds(count=2, length_s=10.0, rest_s=4.0), sfreq=250.0)


def played(plan: RoundsPlan, until: int) -> list[RoundStart | RoundStop]:
    """Start once, and let the rounds go on by themselves."""
    state, events = plan.start(RoundsState(), 0)
    while state.until is not None and state.until <= until:
        state, more = plan.turn(state, state.until)
        events += more
    return events


def test_rounds_and_rests_follow_the_protocol_to_the_sample() -> None:
    assert played(PLAN, until=10_000) == [
        RoundStart(0, 1),
        RoundStop(2500, "length"),
        RoundStart(3500, 2),
        RoundStop(6000, "length"),
    ]


def test_after_the_last_round_the_training_has_ended() -> None:
    state = RoundsState("training", 2, 3500, 6000)
    state, _ = PLAN.turn(state, 6000)
    assert (state.phase, state.until) == ("ended", None)


def test_without_rest_the_next_round_begins_at_once() -> None:
    plan = RoundsPlan.of(Rounds(count=2, length_s=10.0, rest_s=0.0), sfreq=250.0)
    assert played(plan, until=10_000) == [
        RoundStart(0, 1),
        RoundStop(2500, "length"),
        RoundStart(2500, 2),
        RoundStop(5000, "length"),
    ]


def test_nothing_turns_before_its_time() -> None:
    state, _ = PLAN.start(RoundsState(), 0)
    assert PLAN.turn(state, 2499) == (state, [])


def test_a_rest_on_demand_ends_the_round_and_the_next_begins_by_itself() -> None:
    state, _ = PLAN.start(RoundsState(), 0)
    state, events = PLAN.rest(state, 1000)
    assert (state.phase, state.until, events) == ("rest", 2000, [RoundStop(1000, "rest")])
    state, events = PLAN.turn(state, 2000)
    assert (state.phase, events) == ("training", [RoundStart(2000, 2)])


def test_a_rest_on_demand_without_one_in_the_protocol_waits_for_the_operator() -> None:
    plan = RoundsPlan.of(Rounds(count=2, length_s=10.0, rest_s=0.0), sfreq=250.0)
    state, _ = plan.rest(plan.start(RoundsState(), 0)[0], 1000)
    assert (state.phase, state.until) == ("rest", None)


def test_stop_waits_for_the_operator_and_start_begins_the_next_round() -> None:
    state, _ = PLAN.start(RoundsState(), 0)
    state, events = PLAN.stop(state, 700)
    assert (state.phase, state.until, events) == ("ready", None, [RoundStop(700, "operator")])
    state, events = PLAN.start(state, 900)
    assert (state.phase, events) == ("training", [RoundStart(900, 2)])


def test_a_rest_can_be_stopped_and_cut_short() -> None:
    resting = RoundsState("rest", 1, 1000, 2000)
    assert PLAN.stop(resting, 1500) == (RoundsState("ready", 1, 1500, None), [])
    assert PLAN.start(resting, 1500)[1] == [RoundStart(1500, 2)]


def test_what_makes_no_sense_changes_nothing() -> None:
    training = RoundsState("training", 1, 0, 2500)
    ready = RoundsState()
    assert PLAN.start(training, 100) == (training, [])
    assert PLAN.rest(ready, 100) == (ready, [])


def test_one_more_round_can_be_had_after_the_last() -> None:
    ended = RoundsState("ended", 2, 6000, None)
    state, events = PLAN.start(ended, 7000)
    assert events == [RoundStart(7000, 3)]
    assert PLAN.turn(state, 9500)[0].phase == "ended"
