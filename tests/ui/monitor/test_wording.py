import math
from dataclasses import replace

import pytest

from engine.events import Reason, State
from engine.lookback.review import Piece
from engine.reward.advice import Advice, Change
from engine.reward.forecast import Forecast
from engine.session.messages import RateView, Status
from tests.ui.monitor.fake_host import FakeHost, protocol_of
from ui.monitor.wording import (
    REASON_WORDS,
    advice_words,
    amount,
    band_words,
    change_words,
    clock,
    delay_words,
    effective_words,
    goal_words,
    headline,
    inside,
    n_ticks,
    number,
    percent,
    place_words,
    reasons_words,
    round_words,
    runner_up_words,
    step_words,
    unit_words,
    zone_words,
)

PROTOCOL = protocol_of()


def training(**changes: object) -> Status:
    status = replace(FakeHost().status(), phase="training", state=State.WAITING)
    return replace(status, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "0:00"), (65.9, "1:05"), (3599, "59:59"), (3725, "1:02:05"), (-3, "0:00")],
)
def test_times_of_a_session(seconds: float, words: str) -> None:
    assert clock(seconds) == words


def test_numbers_that_are_none_are_a_dash() -> None:
    assert number(None, 1) == number(math.nan, 1) == percent(math.nan) == "–"
    assert number(-1.25, 1) == "−1.2"
    assert (amount(4.1), amount(99.99), amount(123.45)) == ("4.10", "99.99", "123.5")
    assert percent(0.614) == "61 %"


def test_a_time_counts_on_the_grid_of_ticks() -> None:
    # DESIGN of the criterion: N = ceil(time/tick - 1e-9); 128 Hz has ticks of 23.4375 ms.
    assert n_ticks(0.5, 3 / 128) == 22
    assert effective_words(0.5, 3 / 128) == "0.516 s"
    assert n_ticks(0.5, 0.02) == 25
    assert effective_words(0.0, 0.02) == "0.000 s"


@pytest.mark.parametrize(
    ("rate", "words"),
    [
        (None, "zone 10 to 15"),
        (9.9, "below the zone, 10 to 15"),
        (10.0, "in the zone, 10 to 15"),
        (15.0, "in the zone, 10 to 15"),
        (15.1, "above the zone, 10 to 15"),
    ],
)
def test_where_a_rate_lies(rate: float | None, words: str) -> None:
    assert zone_words(RateView(rate, 3, 20.0, True), (10.0, 15.0)) == words


def test_every_reason_has_words() -> None:
    assert set(REASON_WORDS) == set(Reason)
    assert reasons_words(()) == "just after"
    assert reasons_words((Reason.STEP, Reason.MUSCLE, Reason.FLAT)) == "pop or step, muscle"


def test_settings_and_units_as_they_are_written() -> None:
    assert change_words("smr.threshold", 4.1, 4.2, PROTOCOL) == "SMR 4.10 → 4.20"
    assert change_words("smr.averaging", 0.24, 0.26, PROTOCOL) == "SMR averaging 0.24 → 0.26"
    assert change_words("hold", 0.5, 0.55, PROTOCOL) == "hold 0.50 → 0.55"
    assert band_words(PROTOCOL.conditions[1]) == "12–15 Hz"
    assert unit_words(PROTOCOL) == "µV peak"
    assert unit_words(replace(PROTOCOL, scale="peak-to-peak")) == "µV peak to peak"
    assert delay_words(0.314) == "at least 0.31 s behind the sensor, then the hold"


def test_the_state_in_words() -> None:
    assert headline(training(), None).big == "Training"
    hidden = headline(training(), (Reason.AMPLITUDE,))
    assert (hidden.big, hidden.small) == ("Hidden", "large swing")
    assert headline(training(phase="ready"), None).small == "F5 starts the round"
    assert "muscle" in headline(training(phase="ready"), (Reason.MUSCLE,)).small
    assert headline(training(phase="rest"), None).big == "Rest"
    assert headline(training(phase="ended"), None).big == "Rounds over"
    over = training(phase="ended", stream_ok=False, stream_line="the stream has ended")
    assert headline(over, None).big == "Session over"
    assert "the stream has ended" in headline(over, None).small
    off = headline(training(holds_off=("the client display is gone",)), None)
    assert (off.big, off.small) == ("No points now", "the client display is gone")


def test_a_lost_stream_is_said_before_anything_else_and_an_unsaved_session_next() -> None:
    lost = training(stream_ok=False, recording_ok=False, stream_line="stream lost: no samples")
    for phase in ("ready", "training", "rest"):
        words = headline(replace(lost, phase=phase), (Reason.GAP,))
        assert (words.big, words.small) == ("Stream lost", "no samples")
    unsaved = training(recording_ok=False, recording_line="the disk is full", phase="rest")
    assert headline(unsaved, None).big == "Not saving"
    assert "the disk is full" in headline(unsaved, None).small


ZONE = (10.0, 15.0)
AHEAD = Forecast(12.3, 7.6, 15.8)


def test_a_rate_ahead_lies_where_it_is_written_to_lie() -> None:
    assert [inside(rate, ZONE) for rate in (9.4, 9.6, 15.4, 15.6)] == [False, True, True, False]
    places = [place_words(rate, ZONE) for rate in (9.4, 12.0, 15.6)]
    assert places == ["below the zone", "in the zone", "above the zone"]


def test_settings_that_a_change_leads_to() -> None:
    assert goal_words("smr.threshold", 2.0, PROTOCOL) == "SMR threshold to 2.00"
    assert goal_words("hold", 0.45, PROTOCOL) == "hold time to 0.45 s"
    assert goal_words("theta.averaging", 0.3, PROTOCOL) == "theta averaging to 0.30"


def test_the_advice_in_one_sentence() -> None:
    change = Change("smr.threshold", 2.0, AHEAD, 1.0)
    second = Change("high_beta.threshold", 4.7, Forecast(11.2, 7.0, 15.0), 2.0)
    advice = Advice(Forecast(5.0, 2.0, 9.0), change, second, "")
    words = "SMR threshold to 2.00: about 12 a minute (8 to 16)."
    assert advice_words(advice, 90.0, PROTOCOL) == words
    assert runner_up_words(second, PROTOCOL) == "or high beta to 4.70: 11"


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        (
            "leave it: the rate is in the zone",
            "Leave it: about 12 a minute to come (8 to 16), in the zone.",
        ),
        (
            "leave it: the rate may well be in the zone",
            "Leave it: about 12 a minute to come (8 to 16), around the zone.",
        ),
        (
            "no single change reaches the zone without paying for muscle",
            "No single change reaches the zone without paying for muscle.",
        ),
    ],
)
def test_why_nothing_is_advised(reason: str, words: str) -> None:
    assert advice_words(Advice(AHEAD, None, None, reason), 90.0, PROTOCOL) == words


def test_too_little_clear_signal_says_how_much_is_there() -> None:
    none = Advice(None, None, None, "too little clear signal to tell (12 s)")
    words = "Too little clear signal to tell: 12 of 30 s so far."
    assert advice_words(none, 12.2, PROTOCOL) == words


def test_a_step_in_a_whole_sentence() -> None:
    words = (
        "Hold time to 0.55 s: about 12 points a minute of clear time; "
        "8 to 16 in four stretches of five."
    )
    assert step_words("hold", 0.55, AHEAD, PROTOCOL) == words


def test_after_a_round_the_headline_says_what_it_came_to() -> None:
    came = Piece("round 2", 0.0, 180.0, (4.0,), (0.6,), 34, 12.3, 12.3, 180.0, 166.0, 0.92, 0.7)
    assert round_words(came) == "round 2: 34 points, 12 a minute, zone 70 %, clear 92 %; "
    assert round_words(None) == ""
