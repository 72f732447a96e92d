"""Limits of clearness set while a session runs: in force at the next tick, and replayed exactly."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.chunk import Chunk, Floats, chunk_of
from engine.errors import ConfigError
from engine.events import (
    EstimatorChosen,
    Input,
    LimitChanged,
    LimitSet,
    Nudge,
    Output,
    Reason,
    RoundStart,
    RoundStop,
    SegmentStart,
    Tick,
)
from engine.pipeline import Pipeline
from engine.protocol import LIMITS, ClearnessLimits, protocol_from, with_settings
from engine.session.protocol_values import values_of
from engine.session.recording import Recording
from engine.session.recording_reader import read_session
from simulators import artifacts
from simulators.eeg import Eeg
from tests.engine.session.examples import INFO
from tests.engine.signals import onsets_of, smr_protocol, through, ticks_of

SFREQ = 250
CH_NAMES = ("C4", "Fp1")
EARNING = {"theta.threshold": 12.0, "smr.threshold": 1.6, "high_beta.threshold": 9.0}
PROTOCOL = replace(
    with_settings(smr_protocol(), EARNING),
    clearness=replace(smr_protocol().clearness, muscle_uv=20.0),
)
TENSE_S, BLINK_S = (8.0, 12.0), 20.0


@lru_cache
def eeg() -> Floats:
    """Return (n_samples, 2), 40 s: tension of 8 µV RMS from 8 to 12 s, a blink of 120 µV at 20."""
    rng = np.random.default_rng(3)
    samples = Eeg(SFREQ, CH_NAMES, seed=21).read(0, 40 * SFREQ)
    tension = artifacts.jaw_tension(SFREQ, rng, rms_uv=8.0, duration_s=4.0)
    samples[:, 0] = artifacts.added(samples[:, 0], round(TENSE_S[0] * SFREQ), tension)
    blink = artifacts.blink(SFREQ, rng, "Fp1", 120.0, 0.3)
    samples[:, 1] = artifacts.added(samples[:, 1], round(BLINK_S * SFREQ), blink)
    samples.setflags(write=False)
    return samples


def scored(
    *inputs: Input, cuts: tuple[int, ...] = (), n_samples: int = 40 * SFREQ
) -> list[Tick | Output]:
    pipeline = Pipeline(PROTOCOL, CH_NAMES, SFREQ)
    return through(pipeline, eeg()[:n_samples], cuts, (RoundStart(0), *inputs))


def hidden(reason: Reason, outputs: list[Tick | Output]) -> list[float]:
    return [tick.time_s for tick in ticks_of(outputs) if reason in tick.reasons]


def test_a_lower_muscle_limit_hides_the_tension_that_the_protocol_lets_pass() -> None:
    assert hidden(Reason.MUSCLE, scored()) == []
    seen = hidden(Reason.MUSCLE, scored(LimitSet(0, "clearness.muscle", 5.0)))
    assert seen[0] > TENSE_S[0] and seen[-1] < TENSE_S[1] + 0.2
    assert len(seen) * 0.02 > 0.6 * (TENSE_S[1] - TENSE_S[0])


def test_a_lower_blink_limit_finds_the_blink_that_the_protocol_lets_pass() -> None:
    assert hidden(Reason.BLINK, scored()) == []
    seen = hidden(Reason.BLINK, scored(LimitSet(0, "clearness.blink", 60.0)))
    assert seen
    assert seen[0] > BLINK_S and seen[-1] < BLINK_S + 0.8


def test_a_limit_is_in_force_at_the_tick_after_it_and_not_before() -> None:
    at = round(10.0 * SFREQ)
    outputs = scored(LimitSet(at, "clearness.muscle", 5.0, "MK", "check"))
    (change,) = (item for item in outputs if isinstance(item, LimitChanged))
    assert (change.old, change.new, change.by, change.how) == (20.0, 5.0, "MK", "check")
    assert (change.key, change.sample) == ("clearness.muscle", at + 4)
    seen = [tick.tick for tick in ticks_of(outputs) if Reason.MUSCLE in tick.reasons]
    assert seen[0] >= change.tick
    before = ticks_of(scored())[: change.tick]
    assert ticks_of(outputs)[: change.tick] == before


def test_raising_a_limit_gives_the_signal_back_after_its_guard_and_earns_nothing_at_once() -> None:
    at = round(10.0 * SFREQ)
    outputs = scored(LimitSet(0, "clearness.muscle", 5.0), LimitSet(at, "clearness.muscle", 50.0))
    changes = [item for item in outputs if isinstance(item, LimitChanged)]
    assert [(c.old, c.new) for c in changes] == [(20.0, 5.0), (5.0, 50.0)]
    after = [t for t in ticks_of(outputs) if t.time_s > 10.02]
    assert after[0].reasons == (Reason.GUARD,)
    clear = next(t.time_s for t in after if not t.reasons)
    assert clear - 10.0 > 0.3
    assert not [s for s in onsets_of(outputs) if 8.5 < s < clear + 0.48]


def test_two_limits_at_one_sample_say_each_what_stood_before() -> None:
    sets = (LimitSet(1000, "clearness.blink", 90.0), LimitSet(1000, "clearness.blink", 70.0))
    changes = [item for item in scored(*sets) if isinstance(item, LimitChanged)]
    assert [(c.old, c.new) for c in changes] == [(150.0, 90.0), (90.0, 70.0)]


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("clearness.muscle", 0.4, r"clearness\.muscle is 0\.4, but 0\.5 to 200 µV is accepted"),
        ("clearness.blink", 1001.0, r"clearness\.blink is 1001\.0, but 20 to 1000 µV"),
        ("clearness.muscle", float("nan"), "0.5 to 200 µV"),
        ("clearness.guard", 1.0, "one of clearness.muscle, clearness.blink"),
    ],
)
def test_a_limit_out_of_the_protocols_range_is_refused_and_changes_nothing(
    key: str, value: float, says: str
) -> None:
    pipeline = Pipeline(PROTOCOL, CH_NAMES, SFREQ)
    with pytest.raises(ConfigError, match=says):
        pipeline.apply(LimitSet(0, key, value))
    assert pipeline.limits == PROTOCOL.clearness
    assert through(pipeline, eeg()) == scored()


@pytest.mark.parametrize("key", LIMITS)
def test_a_limit_has_the_range_of_its_line_in_a_protocol_file(key: str) -> None:
    field = f"{key.removeprefix('clearness.')}_uv"
    low, high = LIMITS[key]
    for value, fits in ((low, True), (high, True), (low * 0.99, False), (high * 1.01, False)):
        values = json.loads(json.dumps(values_of(PROTOCOL)))
        values["clearness"] = {field: value}
        if fits:
            read = protocol_from(values, "x", "x.toml").clearness
            assert read == ClearnessLimits().changed(key, value)
        else:
            with pytest.raises(ConfigError, match=field):
                protocol_from(values, "x", "x.toml")
            with pytest.raises(ConfigError, match=key):
                ClearnessLimits().changed(key, value)


def test_a_round_with_filters_of_its_own_keeps_the_limits_that_were_set() -> None:
    tuned = replace(PROTOCOL, estimator="tuned", rounds=PROTOCOL.rounds)
    samples = Eeg(SFREQ, CH_NAMES, seed=4).read(0, 75 * SFREQ)
    rng = np.random.default_rng(1)
    tension = artifacts.jaw_tension(SFREQ, rng, rms_uv=8.0, duration_s=2.0)
    samples[:, 0] = artifacts.added(samples[:, 0], 72 * SFREQ, tension)
    inputs = (
        RoundStart(0),
        LimitSet(500, "clearness.muscle", 5.0),
        RoundStop(70 * SFREQ),
        LimitSet(70 * SFREQ, "clearness.blink", 80.0),
        RoundStart(70 * SFREQ, 2),
    )
    pipeline = Pipeline(tuned, CH_NAMES, SFREQ)
    outputs = through(pipeline, samples, inputs=inputs)
    chosen = [item.why for item in outputs if isinstance(item, EstimatorChosen)]
    assert chosen[-1] == ""
    wanted = replace(PROTOCOL.clearness, muscle_uv=5.0, blink_uv=80.0)
    assert pipeline.plan.clearness.limits == pipeline.plan.protocol.clearness == wanted
    assert [t for t in hidden(Reason.MUSCLE, outputs) if t > 72.0]


@settings(max_examples=10)
@given(
    cuts=st.lists(st.integers(0, 3500), max_size=30),
    places=st.lists(st.integers(0, 3499), min_size=7, max_size=7),
)
def test_limits_at_any_sample_come_to_the_same_bits_however_the_stream_is_cut(
    cuts: list[int], places: list[int]
) -> None:
    kinds: list[Input] = [
        LimitSet(0, "clearness.muscle", 2.5),
        RoundStop(0),
        LimitSet(0, "clearness.blink", 60.0),
        RoundStart(0, 2),
        Nudge(0, "smr.threshold", 1.4),
        LimitSet(0, "clearness.muscle", 4.0),
        SegmentStart(0, 60.0, "gap"),
    ]
    inputs = tuple(replace(k, sample=p) for k, p in zip(kinds, sorted(places), strict=True))
    whole = scored(*inputs, n_samples=3500)
    assert scored(*inputs, cuts=tuple(cuts), n_samples=3500) == whole


def test_a_recording_holds_its_limits_and_comes_to_the_same_outputs_again(tmp_path: Path) -> None:
    inputs: list[Input] = [
        SegmentStart(0, 0.0),
        RoundStart(0),
        LimitSet(2002, "clearness.muscle", 5.0),
        LimitSet(4510, "clearness.blink", 60.0),
    ]
    info = replace(INFO, ch_names=CH_NAMES)
    recording = Recording(tmp_path, "limits")
    recording.begin(PROTOCOL, info, "0.1.0", {})
    pipeline = Pipeline(PROTOCOL, CH_NAMES, SFREQ)
    live: list[Tick | Output] = []
    for first in range(0, eeg().shape[0], 11):
        while inputs and inputs[0].sample <= first:
            pipeline.apply(inputs[0])
            recording.event(inputs.pop(0))
        chunk = chunk_of(eeg()[first : first + 11].astype("<f4"), info.to_uv)
        recording.samples(first, chunk)
        live += pipeline.feed(chunk)
    recording.close()

    assert recording.path is not None
    session = read_session(recording.path)
    again: list[Tick | Output] = []
    replayed = Pipeline(session.protocol, session.info.ch_names, session.info.sfreq)
    for item in session.inputs():
        if isinstance(item, Chunk):
            again += replayed.feed(item)
        else:
            replayed.apply(item)
    assert again == live
    assert len(onsets_of(live)) >= 3
    assert hidden(Reason.BLINK, live) and hidden(Reason.MUSCLE, live)
