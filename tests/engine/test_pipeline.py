"""From chunks to points: the same whatever the chunks, and no key press earns a point."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.chunk import Floats
from engine.errors import ConfigError
from engine.events import (
    HoldOff,
    HoldOffEnd,
    Input,
    Nudge,
    Output,
    PointEarned,
    Reason,
    RoundStart,
    RoundStop,
    SegmentStart,
    SettingChanged,
    State,
    StateChanged,
    Tick,
)
from engine.pipeline import BEYOND_UV, Pipeline
from engine.protocol import Protocol, with_settings
from simulators import artifacts
from simulators.eeg import Eeg
from tests.engine.signals import onsets_of, sine, smr_protocol, through, ticks_of

SFREQ = 250
CH_NAMES = ("C4", "Fp1", "A1")
EARNING = {"theta.threshold": 12.0, "smr.threshold": 1.6, "high_beta.threshold": 5.0}


def protocol(**changes: Any) -> Protocol:
    """Return the shipped protocol at thresholds where the simulated client earns points."""
    return replace(with_settings(smr_protocol(), EARNING), **changes)


@lru_cache
def eeg(sfreq: int = SFREQ, seconds: float = 40.0, seed: int = 21) -> Floats:
    """Return (n_samples, 3) of simulated EEG with a blink, a clench and a pop in it."""
    rng = np.random.default_rng(seed)
    samples = Eeg(sfreq, CH_NAMES, seed=seed).read(0, round(seconds * sfreq))
    for at_s, at_c4, at_fp1 in (
        (9.0, artifacts.blink(sfreq, rng, "C4", 250.0), artifacts.blink(sfreq, rng, "Fp1", 250.0)),
        (17.0, artifacts.clench(sfreq, rng), artifacts.clench(sfreq, rng)),
        (26.0, artifacts.pop(sfreq, rng), np.zeros(2)),
    ):
        at = round(at_s * sfreq)
        samples[:, 0] = artifacts.added(samples[:, 0], at, at_c4)
        samples[:, 1] = artifacts.added(samples[:, 1], at, at_fp1)
    samples.setflags(write=False)
    return samples


def clean(seconds: float = 40.0, seed: int = 22) -> Floats:
    return Eeg(SFREQ, ("C4",), seed=seed).read(0, round(seconds * SFREQ))


def scored(
    samples: Floats,
    inputs: tuple[Input, ...] = (RoundStart(0),),
    cuts: tuple[int, ...] = (),
    changed: Protocol | None = None,
    ch_names: tuple[str, ...] = CH_NAMES,
) -> list[Tick | Output]:
    pipeline = Pipeline(changed or protocol(), ch_names[: samples.shape[1]], SFREQ)
    return through(pipeline, samples, cuts, inputs)


EVENTFUL: tuple[Input, ...] = (
    RoundStart(777),
    Nudge(2501, "smr.threshold", 1.5),
    Nudge(3333, "hold", 0.3),
    HoldOff(4000, "the client display is gone"),
    HoldOffEnd(4310, "the client display is gone"),
    SegmentStart(5003, 25.0, "gap"),
    Nudge(5100, "smr.averaging", 0.1),
    Nudge(5100, "quiet", 0.61),
    RoundStop(6002),
    RoundStart(6250, 2),
    Nudge(7000, "theta.averaging", 0.0),
)


@lru_cache
def fed_whole(inputs: tuple[Input, ...]) -> list[Tick | Output]:
    return scored(eeg(), inputs)


def test_the_whole_and_sample_by_sample_come_to_the_same_bits() -> None:
    assert scored(eeg(), EVENTFUL, cuts=tuple(range(eeg().shape[0]))) == fed_whole(EVENTFUL)
    assert len(onsets_of(fed_whole(EVENTFUL))) >= 3


@pytest.mark.parametrize("estimator", ["analytic-fir", "butterworth", "tuned"])
@pytest.mark.parametrize("sfreq", [128, 500, 1024])
def test_any_rate_and_estimator_comes_to_the_same_bits(sfreq: int, estimator: str) -> None:
    samples = eeg(sfreq, 20.0)
    whole, pieces = (
        through(Pipeline(protocol(estimator=estimator), CH_NAMES, sfreq), samples, cuts)
        for cuts in ((), tuple(range(0, samples.shape[0], 7)))
    )
    assert whole == pieces
    assert len(ticks_of(whole)) > 800


@settings(max_examples=15)
@given(st.lists(st.integers(0, 10000), max_size=60))
def test_random_chunks_some_of_them_empty_come_to_the_same_bits(cuts: list[int]) -> None:
    pipeline, position, outputs = Pipeline(protocol(), CH_NAMES, SFREQ), 0, []
    waiting = list(EVENTFUL)
    edges = sorted([*cuts, *(event.sample for event in EVENTFUL), eeg().shape[0]])
    for edge in edges:  # an edge that comes twice is an empty chunk
        outputs += through(pipeline, eeg()[position:edge], inputs=())
        position = edge
        while waiting and waiting[0].sample == position:
            pipeline.apply(waiting.pop(0))
    assert outputs == fed_whole(EVENTFUL)


@settings(max_examples=12)
@given(
    cuts=st.lists(st.integers(0, 10000), max_size=20),
    places=st.lists(st.integers(0, 9999), min_size=8, max_size=8),
)
def test_inputs_at_any_sample_take_effect_at_the_same_tick_however_the_stream_is_cut(
    cuts: list[int], places: list[int]
) -> None:
    kinds: list[Input] = [
        Nudge(0, "hold", 0.2),
        Nudge(0, "smr.threshold", 2.2),
        HoldOff(0, "x"),
        HoldOffEnd(0, "x"),
        RoundStop(0),
        RoundStart(0),
        Nudge(0, "theta.averaging", 0.5),
        SegmentStart(0, 40.0, "gap"),
    ]
    moved = tuple(replace(k, sample=p) for k, p in zip(kinds, sorted(places), strict=True))
    inputs = (RoundStart(0), *moved)
    assert scored(eeg(), inputs, cuts=tuple(cuts)) == scored(eeg(), inputs)


def test_a_signal_may_lie_in_memory_either_way() -> None:
    assert scored(np.asfortranarray(eeg())) == scored(eeg())


def test_a_point_falls_at_the_end_of_a_hold_and_is_followed_by_the_quiet_time() -> None:
    """Hold 0.5 s and quiet 1 s are 25 and 50 ticks."""
    ticks = ticks_of(fed_whole((RoundStart(0),)))
    points = [item for item in fed_whole((RoundStart(0),)) if isinstance(item, PointEarned)]
    assert len(points) >= 5
    for point in points:
        hold = ticks[point.tick - 24 : point.tick + 1]
        assert all(tick.state is State.HOLDING and all(tick.met) for tick in hold)
        after = ticks[point.tick + 1 : point.tick + 51]
        assert {tick.state for tick in after} <= {State.QUIET, State.OBSCURED}
        beyond = ticks[point.tick + 51 : point.tick + 52]
        assert all(tick.state is not State.QUIET for tick in beyond)
        assert (point.sample, point.onset_s) == (hold[-1].sample, hold[-1].time_s)
        assert hold[-1].progress == 1.0
    assert [point.number for point in points] == list(range(1, len(points) + 1))


def test_nothing_is_earned_outside_a_round() -> None:
    outputs = scored(eeg(), ())
    assert not onsets_of(outputs)
    assert {tick.state for tick in ticks_of(outputs)} == {State.STOPPED}


def test_nothing_is_earned_while_something_holds_off() -> None:
    inputs = (RoundStart(0), HoldOff(0, "desk"), HoldOff(0, "rate"), HoldOffEnd(5000, "desk"))
    assert not onsets_of(scored(eeg(), inputs))
    freed = scored(eeg(), (*inputs, HoldOffEnd(5000, "rate")))
    assert onsets_of(freed)
    assert min(onsets_of(freed)) > 5000 / SFREQ + 0.48


def test_the_time_of_a_tick_is_that_of_its_last_sample() -> None:
    first, second = ticks_of(scored(eeg()))[:2]
    assert (first.tick, first.sample, first.time_s) == (0, 4, 4 / SFREQ)
    assert (second.tick, second.sample, second.time_s) == (1, 9, 9 / SFREQ)


def test_a_segment_after_a_gap_has_its_own_time_settles_anew_and_drops_a_part_of_a_tick() -> None:
    ticks = ticks_of(scored(eeg(), (RoundStart(0), SegmentStart(5003, 60.0, "gap"))))
    before = [tick for tick in ticks if tick.sample < 5003]
    after = [tick for tick in ticks if tick.sample >= 5003]
    assert before[-1].sample == 4999
    assert after[0].sample == 5007
    assert after[0].time_s == pytest.approx(60.0 + 4 / SFREQ)
    settling = [tick for tick in after if Reason.SETTLING in tick.reasons]
    assert 2.0 <= len(settling) * 0.02 <= 2.3
    assert all(tick.reasons[0] is Reason.GAP for tick in settling)
    assert not [tick for tick in before if Reason.GAP in tick.reasons]
    assert all(tick.state is State.OBSCURED for tick in settling)


def test_the_first_two_seconds_settle_and_earn_nothing() -> None:
    ticks = ticks_of(scored(eeg()))
    assert all(tick.reasons[0] is Reason.SETTLING for tick in ticks[:100])
    assert not ticks[115].reasons


def test_the_position_counts_samples_and_the_time_goes_on_from_the_segment() -> None:
    pipeline = Pipeline(protocol(), CH_NAMES, SFREQ)
    through(pipeline, eeg()[:1001])
    assert pipeline.sample == 1001
    assert pipeline.time_s == pytest.approx(1001 / SFREQ)
    pipeline.apply(SegmentStart(1001, 100.0, "gap"))
    through(pipeline, eeg()[:250], inputs=())
    assert pipeline.time_s == pytest.approx(101.0)


def test_the_trace_holds_the_high_passed_signals_for_display() -> None:
    pipeline = Pipeline(protocol(), CH_NAMES, SFREQ)
    through(pipeline, eeg()[:1000] + 5e4)
    trace = pipeline.trace.since(0).samples
    assert trace.shape == (1000, 2)  # C4, and Fp1 that is watched for blinks
    assert np.abs(trace).max() < 60


@pytest.mark.parametrize(
    ("scale", "factor"), [("peak", 1.0), ("rms", 2**-0.5), ("peak-to-peak", 2.0)]
)
def test_a_sine_of_10_uv_reads_on_the_protocol_s_scale(scale: str, factor: float) -> None:
    samples = sine(13.5, SFREQ, 5.0, 10.0)[:, np.newaxis]
    last = ticks_of(scored(samples, changed=protocol(scale=scale)))[-1]
    assert last.amplitudes_uv[1] == pytest.approx(10 * factor, rel=0.01)
    assert last.fast_uv[1] == pytest.approx(10 * factor, rel=0.01)


def test_a_scale_and_its_thresholds_together_earn_the_same_points() -> None:
    rms = {key: value * 2**-0.5 for key, value in EARNING.items()}
    in_rms = scored(clean(), changed=with_settings(protocol(scale="rms"), rms))
    assert onsets_of(in_rms) == onsets_of(scored(clean()))


def test_the_averaged_amplitude_is_the_mean_of_the_fast_one() -> None:
    """0.24 s are 12 ticks."""
    ticks = ticks_of(scored(eeg()))
    fast = np.array([tick.fast_uv for tick in ticks])
    for i in range(200, 400):
        mean = fast[i - 11 : i + 1].mean(axis=0)
        np.testing.assert_allclose(ticks[i].amplitudes_uv, mean, rtol=1e-12)


def test_a_difference_of_two_channels_is_trained_on_their_difference() -> None:
    changed = protocol(site="C4 - A1")
    difference = (eeg()[:, 0] - eeg()[:, 2])[:, np.newaxis]
    ours = ticks_of(scored(eeg(), changed=changed))
    alone = ticks_of(scored(difference, changed=protocol(), ch_names=("C4",)))
    for a, b in zip(ours[150:400], alone[150:400], strict=True):
        np.testing.assert_allclose(a.amplitudes_uv, b.amplitudes_uv, rtol=1e-9)


# ---- nudges ---------------------------------------------------------------------------------


def held_at(ticks: list[Tick], least: int) -> int:
    """Return the sample after a tick at which a hold of the protocol has run that many ticks."""
    for i in range(150, len(ticks)):
        run = ticks[i - least + 1 : i + 1]
        if all(t.state is State.HOLDING and t.progress < 1 for t in run) and run[-1].progress == (
            pytest.approx(least / 25)
        ):
            return ticks[i].sample + 1
    raise AssertionError("no hold ran that long")


def test_a_threshold_takes_effect_at_the_next_tick_and_a_hold_still_met_goes_on() -> None:
    samples = clean()
    plain = scored(samples)
    at = held_at(ticks_of(plain), 10)
    nudged = scored(samples, (RoundStart(0), Nudge(at, "theta.threshold", 13.0)))
    (change,) = [item for item in nudged if isinstance(item, SettingChanged)]
    assert change.sample == at + 4
    assert (change.key, change.old, change.new) == ("theta.threshold", 12.0, 13.0)
    before, after = ticks_of(plain)[change.tick], ticks_of(nudged)[change.tick]
    assert after.progress == before.progress == pytest.approx(11 / 25)


def test_a_threshold_that_is_no_longer_met_ends_the_hold() -> None:
    samples = clean()
    at = held_at(ticks_of(scored(samples)), 10)
    nudged = ticks_of(scored(samples, (RoundStart(0), Nudge(at, "smr.threshold", 40.0))))
    tick = next(tick for tick in nudged if tick.sample == at + 4)
    assert (tick.state, tick.progress, tick.met[1]) == (State.WAITING, 0.0, False)


@pytest.mark.parametrize(("key", "value"), [("hold", 0.1), ("quiet", 0.2), ("smr.averaging", 0.0)])
def test_any_other_change_waits_until_the_running_hold_has_ended(key: str, value: float) -> None:
    samples = clean()
    plain = scored(samples)
    at = held_at(ticks_of(plain), 10)
    nudged = scored(samples, (RoundStart(0), Nudge(at, key, value, "EK", "button")))
    (change,) = [item for item in nudged if isinstance(item, SettingChanged)]
    assert (change.key, change.new, change.by, change.how) == (key, value, "EK", "button")
    assert change.old == protocol().settings.value(key)
    held = [tick for tick in ticks_of(plain) if tick.sample > at and tick.tick < change.tick]
    assert held == [t for t in ticks_of(nudged) if t.sample > at and t.tick < change.tick]
    assert ticks_of(nudged)[change.tick - 1].progress in (0.0, 1.0)


def test_a_shorter_hold_earns_nothing_by_itself() -> None:
    """A hold that has run 0.4 s is worth no point when the hold time becomes 0.1 s."""
    samples = clean()
    at = held_at(ticks_of(scored(samples)), 20)
    nudged = scored(samples, (RoundStart(0), Nudge(at, "hold", 0.1)))
    assert not [p for p in onsets_of(nudged) if at / SFREQ <= p < at / SFREQ + 0.08]


@settings(max_examples=12)
@given(
    at=st.integers(600, 9000),
    key=st.sampled_from(["hold", "quiet", "theta.averaging", "smr.averaging"]),
    value=st.sampled_from([0.02, 0.1, 0.3, 1.0]),
)
def test_no_key_press_earns_a_point_in_the_hold_that_it_falls_into(
    at: int, key: str, value: float
) -> None:
    samples = clean()
    plain, nudged = scored(samples), scored(samples, (RoundStart(0), Nudge(at, key, value)))
    change = next((item for item in nudged if isinstance(item, SettingChanged)), None)
    if change is None:
        assert onsets_of(plain) == onsets_of(nudged)
        return
    until = [p.tick for p in plain if isinstance(p, PointEarned) and p.tick < change.tick]
    assert until == [p.tick for p in nudged if isinstance(p, PointEarned) and p.tick < change.tick]
    ticks = ticks_of(nudged)
    n_hold = hold_after(change)
    for point in (p for p in nudged if isinstance(p, PointEarned) and p.tick >= change.tick):
        assert point.tick - n_hold + 1 >= change.tick
        assert all(all(tick.met) for tick in ticks[point.tick - n_hold + 1 : point.tick + 1])


def hold_after(change: SettingChanged) -> int:
    """Return the ticks of a hold after a change."""
    return int(np.ceil((change.new if change.key == "hold" else 0.5) / 0.02 - 1e-9))


def test_a_nudge_out_of_range_is_refused_and_changes_nothing() -> None:
    pipeline = Pipeline(protocol(), CH_NAMES, SFREQ)
    with pytest.raises(ConfigError, match=r"hold is 11, but 0.02 to 10 s is accepted"):
        pipeline.apply(Nudge(0, "hold", 11))
    with pytest.raises(ConfigError, match=r"alpha.threshold"):
        pipeline.apply(Nudge(0, "alpha.threshold", 3))
    assert pipeline.settings == protocol().settings
    assert not [o for o in through(pipeline, eeg()) if isinstance(o, SettingChanged)]


def test_two_changes_of_one_setting_say_each_what_stood_before() -> None:
    inputs = (RoundStart(0), Nudge(1000, "smr.threshold", 2.0), Nudge(1000, "smr.threshold", 2.4))
    changes = [item for item in scored(eeg(), inputs) if isinstance(item, SettingChanged)]
    assert [(c.old, c.new) for c in changes] == [(1.6, 2.0), (2.0, 2.4)]


def test_the_settings_are_what_was_asked_for_at_once() -> None:
    pipeline = Pipeline(protocol(), CH_NAMES, SFREQ)
    pipeline.apply(Nudge(0, "hold", 0.75))
    assert pipeline.settings.hold_s == 0.75


# ---- what is missing ------------------------------------------------------------------------


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf, 1e38, -BEYOND_UV])
def test_what_is_no_voltage_is_missing_then_settles_and_earns_nothing(value: float) -> None:
    samples = clean().copy()
    samples[5000:5003] = value
    ticks = ticks_of(scored(samples))
    (first,) = [tick for tick in ticks if tick.sample == 5004]
    assert Reason.MISSING in first.reasons
    hidden = [tick for tick in ticks if 5004 <= tick.sample < 5500]
    assert all(tick.state is State.OBSCURED for tick in hidden)
    assert {reason for tick in hidden[1:] for reason in tick.reasons} == {Reason.SETTLING}
    assert all(np.isfinite(tick.amplitudes_uv).all() for tick in ticks)
    assert not [p for p in onsets_of(scored(samples)) if 20.0 <= p < 22.0]


def test_a_signal_that_is_missing_for_long_earns_nothing_and_then_settles() -> None:
    samples = clean().copy()
    samples[2500:7500] = np.nan
    outputs = scored(samples)
    assert not [p for p in onsets_of(outputs) if 10.0 <= p < 32.2]
    assert [p for p in onsets_of(outputs) if p > 32.2]


def test_a_signal_that_begins_with_nothing_and_an_offset_settles_as_quickly_as_another() -> None:
    samples = clean() + 1e5
    samples[:600] = np.nan
    ticks = ticks_of(scored(samples))
    assert min(tick.time_s for tick in ticks if not tick.reasons) < 2.4 + 2.3


def test_missing_values_on_a_channel_that_is_not_used_change_nothing() -> None:
    broken = eeg().copy()
    broken[:, 2] = np.nan
    assert scored(broken) == scored(eeg())


def test_missing_values_on_a_watched_channel_hide_nothing() -> None:
    broken = Eeg(SFREQ, CH_NAMES, seed=22).read(0, 5000)
    broken[1500:, 1] = np.nan
    assert not [tick for tick in ticks_of(scored(broken))[200:] if Reason.MISSING in tick.reasons]


# ---- what is said of a change of state --------------------------------------------------------


def test_every_change_of_state_is_told_once_and_follows_its_tick() -> None:
    outputs = fed_whole(EVENTFUL)
    shown: tuple[State, tuple[Reason, ...]] = (State.STOPPED, ())
    tick: Tick | None = None
    told = None
    for item in outputs:
        if isinstance(item, StateChanged):
            assert tick is not None and (item.tick, item.sample) == (tick.tick, tick.sample)
            told = (item.state, item.reasons)
            assert told != shown
            shown = told
        elif isinstance(item, Tick):
            if tick is not None:
                expected = tick.reasons if tick.state is State.OBSCURED else ()
                assert shown == (tick.state, expected)
            tick = item
    assert told is not None


def test_a_blink_seen_at_the_forehead_hides_the_trained_signal() -> None:
    reasons = {r for t in ticks_of(scored(eeg())) if 9.0 < t.time_s < 9.8 for r in t.reasons}
    assert Reason.BLINK in reasons
    alone = ticks_of(scored(eeg()[:, :1]))
    assert not {r for t in alone if 9.0 < t.time_s < 9.8 for r in t.reasons} & {
        Reason.BLINK, Reason.AMPLITUDE
    }  # fmt: skip
