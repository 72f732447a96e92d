"""A round begins at the least delay at which enough of the points agree with the truth."""

from dataclasses import replace

import numpy as np
import pytest

from engine.chunk import chunk_of
from engine.configs_folder import find_protocol
from engine.events import EstimatorChosen, RoundStart
from engine.least_delay import DELAYS_S
from engine.pipeline import Pipeline
from engine.protocol import load_protocol, protocol_from
from engine.reward.agreement import agreement
from simulators.person import Person, PersonSettings

SFREQ = 250.0
PROTOCOL = load_protocol(find_protocol("smr-up-c4"))
CLIENT = Person(PersonSettings(seed=3, ch_names=("C4",), artifacts=False))
SAMPLES = CLIENT.read(0, round(150 * SFREQ))


def begun(wanted: float, estimator: str = "analytic-fir", before_s: float = 140.0) -> Pipeline:
    protocol = replace(PROTOCOL, agreement=wanted, estimator=estimator)
    pipeline = Pipeline(protocol, ("C4",), SFREQ)
    n_before = round(before_s * SFREQ)
    pipeline.feed(chunk_of(SAMPLES[:n_before], (1.0,)))
    pipeline.apply(RoundStart(n_before))
    pipeline.said = [  # type: ignore[attr-defined]
        item
        for item in pipeline.feed(chunk_of(SAMPLES[n_before:], (1.0,)))
        if isinstance(item, EstimatorChosen)
    ]
    return pipeline


def delay_of(pipeline: Pipeline) -> float:
    return pipeline.plan.estimator.delays_s[0]


def test_more_agreement_asks_for_no_less_delay() -> None:
    delays = [delay_of(begun(wanted)) for wanted in (0.3, 0.6, 0.7)]
    assert delays == sorted(delays)
    assert set(delays) <= set(DELAYS_S)
    assert delays[0] < 0.2


@pytest.mark.parametrize("estimator", ["analytic-fir", "tuned"])
def test_all_conditions_share_the_delay_and_the_estimator_is_the_one_asked_for(
    estimator: str,
) -> None:
    pipeline = begun(0.5, estimator)
    assert len(set(pipeline.plan.estimator.delays_s)) == 1
    assert pipeline.plan.estimator.name == estimator
    (said,) = pipeline.said  # type: ignore[attr-defined]
    assert "% of the points agree" in said.why


def test_the_protocols_delay_stands_where_none_agrees_well_enough() -> None:
    pipeline = begun(0.95)
    assert delay_of(pipeline) == PROTOCOL.delay_s
    (said,) = pipeline.said  # type: ignore[attr-defined]
    assert said.why.startswith("no delay up to 300 ms")


def test_the_protocols_delay_stands_without_a_clear_minute() -> None:
    assert delay_of(begun(0.5, before_s=40.0)) == PROTOCOL.delay_s


def test_agreement_is_a_setting_of_the_protocol() -> None:
    values = {
        "name": "n",
        "site": "C4",
        "agreement": 0.7,
        "condition": [
            {"band": "smr", "low_hz": 12, "high_hz": 15, "direction": "above", "threshold_uv": 2}
        ],
    }
    assert protocol_from(values, "n", "n.toml").agreement == 0.7


def test_points_that_are_only_late_agree_wholly() -> None:
    true = np.arange(0.0, 60.0, 3.0)
    found, false, lag_s = agreement(true + 0.31, true)
    assert (found, false) == (1.0, 0.0)
    assert 0.0 < lag_s <= 0.31


def test_half_of_the_points_found_and_a_third_false() -> None:
    true = np.arange(0.0, 60.0, 3.0)
    given = np.concatenate([true[::2] + 0.4, np.arange(1.9, 30.0, 6.0)])
    found, false, _ = agreement(np.sort(given), true)
    assert found == 0.5
    assert false == pytest.approx(1 / 3)


def test_nothing_given_agrees_with_nothing() -> None:
    assert agreement(np.empty(0), np.array([1.0])) == (0.0, 1.0, 0.0)
