"""What is known before the first sample: signals, places, delays, and what cannot be had."""

from dataclasses import replace

import numpy as np
import pytest

from engine.errors import ConfigError
from engine.plan import plan_for
from tests.engine.signals import smr_protocol

PROTOCOL = smr_protocol()


def test_the_trained_site_comes_first_and_frontal_channels_are_watched() -> None:
    assert plan_for(PROTOCOL, ("Fz", "Fp1", "C4"), 250).signals == ("C4", "Fp1")
    assert plan_for(PROTOCOL, ("C4",), 250).signals == ("C4",)
    plan = plan_for(PROTOCOL, ("Fp2", "EEG C4", "Fp1"), 250)
    assert (plan.signals, plan.n_trained) == (("C4", "Fp1", "Fp2"), 1)
    np.testing.assert_array_equal(plan.montage, [[0, 1, 0], [0, 0, 1], [1, 0, 0]])


def test_a_channel_that_is_not_there_is_asked_for_with_what_there_is() -> None:
    with pytest.raises(ConfigError, match=r"channel is 'C4', but a label of the stream \('Cz'\)"):
        plan_for(PROTOCOL, ("Cz",), 250)


def test_conditions_may_lie_on_channels_of_their_own_and_share_filters() -> None:
    theta, smr, beta = PROTOCOL.conditions
    again = replace(theta, band="theta_fz", channel="Fz")
    plan = plan_for(replace(PROTOCOL, conditions=(theta, smr, beta, again)), ("C4", "Fz"), 250)
    assert plan.signals == ("C4", "Fz")
    assert plan.places == ((0, 0), (1, 0), (2, 0), (0, 1))


def test_the_least_delay_is_that_of_the_filter_and_half_the_averaging() -> None:
    """0.24 s are 12 ticks of 20 ms: their mean is 5.5 ticks late."""
    plan = plan_for(PROTOCOL, ("C4",), 250)
    assert dict(plan.delays(PROTOCOL.settings)) == pytest.approx({"filter": 0.2, "averaging": 0.11})
    assert plan.delay_s(PROTOCOL.settings) == pytest.approx(0.31)


def test_without_averaging_only_the_filter_is_late() -> None:
    plan = plan_for(PROTOCOL, ("C4",), 250)
    none = replace(PROTOCOL.settings, averaging_s=(0.0, 0.0, 0.0))
    assert plan.delay_s(none) == pytest.approx(0.2)


def test_the_slowest_condition_sets_the_least_delay() -> None:
    plan = plan_for(PROTOCOL, ("C4",), 250)
    slow = replace(PROTOCOL.settings, averaging_s=(0.0, 1.0, 0.1))
    assert plan.delay_s(slow) == pytest.approx(0.2 + 0.49)


def test_the_response_of_a_condition_is_that_of_its_own_filter() -> None:
    plan = plan_for(PROTOCOL, ("C4",), 500)
    for i, condition in enumerate(PROTOCOL.conditions):
        centre = (condition.low_hz + condition.high_hz) / 2
        assert plan.gain(i, np.array([centre]))[0] == pytest.approx(1.0)
