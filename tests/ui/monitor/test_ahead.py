"""Which forecast stands, and which advice is shown."""

import pytest

from engine.reward.advice import Advice, Change
from engine.reward.forecast import Forecast
from engine.reward.outlook import Candidate, Outlook
from engine.session.foresight import Foresight
from engine.settings import Settings
from tests.ui.monitor.fake_host import protocol_of
from ui.monitor.ahead import OLD_S, Ahead

SETTINGS = protocol_of().settings
NOW = Forecast(20.0, 15.0, 25.0)


def change(value: float, rate: float = 12.0) -> Change:
    return Change("smr.threshold", value, Forecast(rate, rate - 4, rate + 4), 1.0)


def foresight(
    advised: Change | None, settings: Settings = SETTINGS, reason: str = "leave it"
) -> Foresight:
    sweep = tuple(
        Candidate("smr.threshold", value, Forecast(rate, rate - 2, rate + 2))
        for value, rate in ((3.0, 30.0), (4.0, 21.0), (5.0, 10.0))
    )
    steps = (
        Candidate("smr.threshold", 4.0, Forecast(21.0, 19.0, 23.0)),
        Candidate("smr.threshold", 4.2, Forecast(18.0, 16.0, 20.0)),
    )
    advice = Advice(NOW, advised, None, "" if advised else reason)
    return Foresight(settings, Outlook(90.0, 80.0, NOW, steps, sweep, advice), None, 14.0)


def test_a_forecast_stands_for_its_settings_alone_and_not_for_long() -> None:
    ahead = Ahead()
    assert not ahead.holds(SETTINGS, 0.0)
    ahead.take(foresight(change(4.5)), 10.0)
    assert ahead.holds(SETTINGS, 10.0)
    assert ahead.holds(SETTINGS, 10.0 + OLD_S)
    assert not ahead.holds(SETTINGS, 10.1 + OLD_S)
    assert not ahead.holds(SETTINGS.changed("hold", 0.6), 10.0)


def test_only_an_advice_that_stands_can_be_followed() -> None:
    ahead = Ahead()
    assert ahead.change(SETTINGS, 0.0) is None
    ahead.take(foresight(change(4.5)), 10.0)
    assert ahead.change(SETTINGS, 10.0) == change(4.5)
    assert ahead.change(SETTINGS.changed("smr.threshold", 4.5), 10.0) is None
    assert ahead.change(SETTINGS, 11.0 + OLD_S) is None


def test_an_advice_that_leaps_each_second_is_not_shown_to_leap() -> None:
    ahead = Ahead()
    shown = []
    for value in (4.5, 4.6, 4.5, 4.6, 4.6, 4.6):
        ahead.take(foresight(change(value)), 10.0)
        advised = ahead.change(SETTINGS, 10.0)
        assert advised is not None
        shown.append(advised.value)
    assert shown == [4.5, 4.5, 4.5, 4.5, 4.6, 4.6]


def test_the_numbers_of_the_same_advice_are_always_the_newest() -> None:
    ahead = Ahead()
    for rate in (12.0, 13.0):
        ahead.take(foresight(change(4.5, rate)), 10.0)
    advised = ahead.change(SETTINGS, 10.0)
    assert advised is not None
    assert advised.forecast.rate == 13.0


def test_after_a_change_of_settings_the_new_advice_is_shown_at_once() -> None:
    ahead = Ahead()
    ahead.take(foresight(change(4.5)), 10.0)
    new = SETTINGS.changed("smr.threshold", 4.5)
    ahead.take(foresight(None, new), 10.5)
    assert ahead.advice is not None
    assert ahead.advice.change is None


def test_a_step_is_found_by_its_direction() -> None:
    ahead = Ahead()
    assert ahead.step("smr.threshold", 1) is None
    ahead.take(foresight(None), 10.0)
    up, down = ahead.step("smr.threshold", 1), ahead.step("smr.threshold", -1)
    assert up is not None and down is not None
    assert (down.value, up.value) == (4.0, 4.2)
    assert ahead.step("hold", 1) is None


def test_between_the_values_of_a_sweep_the_rate_is_drawn_straight_and_beyond_it_none() -> None:
    ahead = Ahead()
    ahead.take(foresight(None), 10.0)
    # between (4.1, today, 20 a minute) and (5.0, 10 a minute)
    found = ahead.at("smr.threshold", 4.55)
    assert found is not None
    assert found.rate == pytest.approx(15.0)
    today = ahead.at("smr.threshold", 4.1)
    assert today is not None
    assert today.rate == NOW.rate
    assert ahead.at("smr.threshold", 5.1) is None
    assert ahead.at("smr.threshold", 2.9) is None


def test_where_nothing_can_be_told_nothing_is_told() -> None:
    ahead = Ahead()
    advice = Advice(None, None, None, "too little clear signal to tell (12 s)")
    ahead.take(Foresight(SETTINGS, Outlook(20.0, 12.0, None, (), (), advice), None, None), 10.0)
    assert ahead.now is None
    assert ahead.at("smr.threshold", 4.1) is None
    assert ahead.change(SETTINGS, 10.0) is None
