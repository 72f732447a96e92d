"""A round begins with filters tuned to the clear minutes before it, or says why it does not."""

from dataclasses import replace

import numpy as np
import pytest

from engine.chunk import Floats, chunk_of
from engine.configs_folder import find_protocol
from engine.events import (
    EstimatorChosen,
    Output,
    PointEarned,
    RoundStart,
    RoundStop,
    SegmentStart,
    Tick,
)
from engine.pipeline import Pipeline
from engine.protocol import load_protocol
from engine.signal.amplitude import AnalyticFir
from engine.signal.grid import grid_for
from engine.signal.spectrum import typical_eeg
from engine.signal.tuned import own_spectrum
from simulators.person import Person, PersonSettings

SFREQ = 250.0
PROTOCOL = replace(load_protocol(find_protocol("smr-up-c4")), estimator="tuned")
CLIENT = Person(PersonSettings(seed=3, ch_names=("C4",), artifacts=False))


def chosen_after(
    seconds: float, samples: Floats | None = None
) -> tuple[Pipeline, list[EstimatorChosen]]:
    """Feed so many seconds without a round, start one, and feed half a minute more."""
    pipeline = Pipeline(PROTOCOL, ("C4",), SFREQ)
    n_before, n_all = round(seconds * SFREQ), round((seconds + 30) * SFREQ)
    samples = CLIENT.read(0, n_all) if samples is None else samples
    pipeline.feed(chunk_of(samples[:n_before], (1.0,)))
    pipeline.apply(RoundStart(n_before))
    outputs = pipeline.feed(chunk_of(samples[n_before:], (1.0,)))
    return pipeline, [item for item in outputs if isinstance(item, EstimatorChosen)]


def test_a_round_after_a_clear_minute_is_tuned() -> None:
    pipeline, chosen = chosen_after(70.0)
    assert [(c.name, c.why) for c in chosen] == [("tuned", "")]
    assert pipeline.plan.estimator.name == "tuned"


def test_a_round_without_a_clear_minute_falls_back_and_says_why() -> None:
    pipeline, chosen = chosen_after(30.0)
    (one,) = chosen
    assert one.name == "analytic-fir"
    assert one.why == "28 s of clear signal, but 60 s are needed"
    assert pipeline.plan.estimator.name == "analytic-fir"


def test_signal_that_was_hidden_does_not_count() -> None:
    samples = CLIENT.read(0, round(100 * SFREQ)).copy()
    samples[: round(40 * SFREQ)] += (
        300 * np.sign(np.sin(np.arange(round(40 * SFREQ)) / 20))[:, None]
    )
    _, (one,) = chosen_after(70.0, samples)
    assert one.name == "analytic-fir"


def test_other_protocols_are_told_nothing() -> None:
    pipeline = Pipeline(replace(PROTOCOL, estimator="analytic-fir"), ("C4",), SFREQ)
    pipeline.apply(RoundStart(0))
    outputs = pipeline.feed(chunk_of(CLIENT.read(0, 1000), (1.0,)))
    assert not [item for item in outputs if isinstance(item, EstimatorChosen)]


def test_the_same_inputs_choose_the_same_filters_whatever_the_chunking() -> None:
    samples = CLIENT.read(0, round(150 * SFREQ))
    n_start = round(70 * SFREQ)
    points, taps = [], []
    for size in (7, 1000):
        pipeline = Pipeline(PROTOCOL, ("C4",), SFREQ)
        pipeline.apply(SegmentStart(0, 0.0))
        outputs: list[Tick | Output] = []
        for first in range(0, len(samples), size):
            for piece in np.split(samples[first : first + size], [max(0, n_start - first)]):
                if pipeline.sample == n_start:
                    pipeline.apply(RoundStart(n_start))
                outputs += pipeline.feed(chunk_of(piece, (1.0,)))
        pipeline.apply(RoundStop(pipeline.sample))
        points.append([o for o in outputs if isinstance(o, PointEarned)])
        assert isinstance(pipeline.plan.estimator, AnalyticFir)
        taps.append(pipeline.plan.estimator.taps)
    assert points[0] and points[0] == points[1]
    assert np.array_equal(taps[0], taps[1])


def test_tuned_filters_keep_the_promises_of_the_default_ones() -> None:
    pipeline, _ = chosen_after(70.0)
    for i, condition in enumerate(PROTOCOL.conditions):
        centre = (condition.low_hz + condition.high_hz) / 2
        assert pipeline.plan.gain(i, np.array([centre]))[0] == pytest.approx(1.0, abs=0.01)
        assert pipeline.plan.gain(i, np.array([0.0]))[0] < 1e-9
        assert pipeline.plan.gain(i, np.array([50.0, 60.0])).max() <= 0.03
        assert pipeline.plan.gain(i, np.arange(46.0, 100.0)).max() <= 0.03


def test_points_at_the_same_thresholds_are_the_same_within_a_twentieth() -> None:
    """Three simulated clients together, five minutes each; recordings: tests/benchmarks."""
    counts = {"analytic-fir": 0, "tuned": 0}
    n_before = round(70 * SFREQ)
    for seed in range(3):
        client = Person(PersonSettings(seed=seed, ch_names=("C4",), artifacts=False))
        samples = client.read(0, n_before + round(300 * SFREQ))
        for estimator in counts:
            pipeline = Pipeline(replace(PROTOCOL, estimator=estimator), ("C4",), SFREQ)
            pipeline.feed(chunk_of(samples[:n_before], (1.0,)))
            pipeline.apply(RoundStart(n_before))
            outputs = pipeline.feed(chunk_of(samples[n_before:], (1.0,)))
            counts[estimator] += sum(isinstance(o, PointEarned) for o in outputs)
    assert counts["tuned"] == pytest.approx(counts["analytic-fir"], rel=0.05)


def test_mains_in_the_clients_minutes_is_not_let_through_for_want_of_it() -> None:
    """The weight is never below a share of the typical spectrum, mains allowance included."""
    rng = np.random.default_rng(0)
    grid = grid_for(SFREQ)
    quiet = np.convolve(rng.normal(size=15000), np.ones(25) / 25, "same")
    weight = own_spectrum([quiet], grid.sfreq_decimated)
    at = np.array([40.0, 50.0, 60.0, 90.0])
    assert (weight(at) >= 0.1 * typical_eeg(at)).all()
    assert weight(at)[1:] == pytest.approx(typical_eeg(at)[1:])
