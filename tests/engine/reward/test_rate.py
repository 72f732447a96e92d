"""Points a minute, from ticks and points with known answers. A tick is 20 ms."""

import math

import pytest

from engine.events import PointEarned, Reason, SettingChanged, State, StateChanged, Tick
from engine.reward.rate import RateMeter, ceiling, rate_of

TICK_S = 0.02
MINUTE = 3000


class Session:
    """A meter and the ticks given to it so far."""

    def __init__(self) -> None:
        self.meter = RateMeter(TICK_S, 2)
        self.n = 0
        self.points = 0

    def ticks(
        self,
        n: int,
        state: State = State.WAITING,
        amplitudes: tuple[float, float] = (4.0, 6.0),
        met: tuple[bool, bool] = (True, False),
    ) -> "Session":
        reasons = (Reason.MUSCLE,) if state is State.OBSCURED else ()
        for _ in range(n):
            time_s = (self.n + 1) * TICK_S
            self.meter.add(
                Tick(self.n, self.n * 5, time_s, amplitudes, amplitudes, met, state, reasons, 0, 0)
            )
            self.n += 1
        return self

    def point(self) -> "Session":
        self.points += 1
        self.meter.add(PointEarned(self.n, self.n * 5, self.n * TICK_S, self.points))
        return self

    def change(self) -> "Session":
        self.meter.add(SettingChanged(self.n, self.n * 5, 0.0, "hold", 0.5, 0.55, "me", "key"))
        return self


def test_twelve_points_in_a_clear_minute_are_twelve_a_minute() -> None:
    session = Session()
    for _ in range(12):
        session.ticks(MINUTE // 12).point()
    assert session.meter.last_minute().per_minute == pytest.approx(12.0)


def test_hidden_time_does_not_count_as_time() -> None:
    session = Session().ticks(MINUTE // 2)
    for _ in range(6):
        session.point()
    session.ticks(MINUTE // 2, State.OBSCURED)
    rate = session.meter.last_minute()
    assert rate.points == 6
    assert rate.clear_s == pytest.approx(30.0)
    assert rate.per_minute == pytest.approx(12.0)
    assert session.meter.clear_share() == pytest.approx(0.5)


def test_a_rest_between_rounds_is_no_time_and_ages_nothing() -> None:
    session = Session().ticks(MINUTE // 2).point().ticks(10 * MINUTE, State.STOPPED)
    rate = session.meter.last_minute()
    assert rate.points == 1
    assert rate.clear_s == pytest.approx(30.0)


def test_a_point_counts_for_a_minute_of_round_time_to_the_tick() -> None:
    session = Session().ticks(1).point().ticks(MINUTE - 1)
    assert session.meter.last_minute().points == 1
    assert session.ticks(1).meter.last_minute().points == 0


def test_hidden_ticks_age_a_point_too() -> None:
    session = Session().ticks(1).point().ticks(MINUTE, State.OBSCURED)
    assert session.meter.last_minute().points == 0


def test_before_a_second_of_clear_time_there_is_no_rate() -> None:
    session = Session().ticks(49).point()
    assert session.meter.last_minute().per_minute is None
    assert session.ticks(1).meter.last_minute().per_minute == pytest.approx(60.0)


def test_a_rate_is_young_before_half_a_minute_of_clear_time() -> None:
    session = Session().ticks(MINUTE // 2 - 1)
    assert session.meter.last_minute().young
    assert not session.ticks(1).meter.last_minute().young


def test_the_rate_since_the_last_change_starts_with_the_change() -> None:
    session = Session().ticks(MINUTE).point().point().change().ticks(500).point()
    since = session.meter.since_change()
    assert since.points == 1
    assert since.clear_s == pytest.approx(10.0)
    assert since.per_minute == pytest.approx(6.0)
    assert session.meter.last_minute().points == 3


def test_the_last_minute_s_means_are_those_of_its_clear_ticks() -> None:
    session = Session().ticks(1000, amplitudes=(99.0, 99.0), met=(False, False))
    session.ticks(1500, amplitudes=(2.0, 10.0), met=(True, True))
    session.ticks(500, amplitudes=(8.0, 10.0), met=(False, True))
    session.ticks(1000, State.OBSCURED, amplitudes=(500.0, 500.0))
    means, shares = session.meter.last_minute_means()
    assert means == pytest.approx((3.5, 10.0))
    assert shares == pytest.approx((0.75, 1.0))


def test_without_clear_ticks_the_means_are_undefined() -> None:
    session = Session().ticks(10, State.OBSCURED)
    means, shares = session.meter.last_minute_means()
    assert all(math.isnan(value) for value in (*means, *shares))
    assert session.meter.last_minute().per_minute is None
    assert session.meter.clear_share() == 0.0


def test_the_course_of_the_rate_has_a_place_a_second() -> None:
    session = Session()
    for _ in range(5):
        session.ticks(50).point()
    course = session.meter.course
    assert [time for time, _ in course] == pytest.approx([1.0, 2.0, 3.0, 4.0, 5.0])
    assert [rate for _, rate in course] == pytest.approx([0.0, 30.0, 40.0, 45.0, 48.0])


def test_other_events_are_passed_over() -> None:
    session = Session().ticks(MINUTE).point()
    session.meter.add(StateChanged(1, 5, 0.1, State.HOLDING))
    session.meter.add("anything")
    assert session.meter.last_minute().points == 1


@pytest.mark.parametrize(
    ("hold_s", "quiet_s", "most"), [(0.5, 1.0, 40.0), (0.25, 0.25, 120.0), (2.0, 0.0, 30.0)]
)
def test_hold_and_quiet_time_set_a_ceiling(hold_s: float, quiet_s: float, most: float) -> None:
    assert ceiling(hold_s, quiet_s) == pytest.approx(most)


def test_a_rate_is_points_over_clear_minutes() -> None:
    assert rate_of(7, 30.0).per_minute == pytest.approx(14.0)
    assert rate_of(0, 0.0).per_minute is None
