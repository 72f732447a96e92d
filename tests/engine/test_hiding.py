"""How long a signal stays hidden: settling, what is seen, and the guard after it, streamed.

The guard must end no sooner than what is left of a limit-sized disturbance has fallen below a
tenth of each condition's threshold. It is checked on streams, with and without the disturbance,
not on the table that it is derived from.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import signal

from engine.chunk import Floats
from engine.events import Nudge, Reason, RoundStart, Tick
from engine.pipeline import Pipeline
from engine.protocol import Condition, Protocol
from simulators import artifacts
from simulators.eeg import Eeg
from tests.engine.signals import BANDS, smr_protocol, through, ticks_of

SFREQ = 250
AT = 1500


def one_band(band: str, averaging_s: float, threshold_uv: float, estimator: str) -> Protocol:
    low, high = BANDS[band]
    condition = Condition(band, band, low, high, "below", threshold_uv, averaging_s, 0.1)
    return replace(smr_protocol(), conditions=(condition,), estimator=estimator)


def eeg(seconds: float = 14.0, seed: int = 31) -> Floats:
    return Eeg(SFREQ, ("C4",), seed=seed).read(0, round(seconds * SFREQ))


def ticks(samples: Floats, protocol: Protocol, *nudges: Nudge) -> list[Tick]:
    pipeline = Pipeline(protocol, ("C4", "Fp1")[: samples.shape[1]], SFREQ)
    return ticks_of(through(pipeline, samples, inputs=(RoundStart(0), *nudges)))


def first_clear(after: int, run: list[Tick]) -> Tick:
    """Return the first tick without a reason after the last one that saw the disturbance."""
    hidden = [i for i, tick in enumerate(run) if tick.sample >= after and tick.reasons]
    return next(tick for tick in run[hidden[0] :] if not tick.reasons)


@pytest.mark.parametrize("estimator", ["analytic-fir", "butterworth"])
@pytest.mark.parametrize("averaging_s", [0.0, 0.24, 0.5, 1.0])
@pytest.mark.parametrize("band", BANDS)
def test_when_the_guard_ends_a_limit_sized_step_has_left_less_than_a_tenth_of_the_threshold(
    band: str, averaging_s: float, estimator: str
) -> None:
    threshold_uv = 2.0
    protocol = one_band(band, averaging_s, threshold_uv, estimator)
    clean = eeg()
    for place in range(0, 5, 2):
        dirty = clean.copy()
        dirty[AT + place :] += protocol.clearness.limit_uv
        run = ticks(dirty, protocol)
        clear = first_clear(AT, run)
        undisturbed = ticks(clean, protocol)
        assert 0.3 < clear.time_s - AT / SFREQ < 4.0
        apart = [
            abs(a.amplitudes_uv[0] - b.amplitudes_uv[0])
            for a, b in zip(run[clear.tick :], undisturbed[clear.tick :], strict=True)
        ]
        assert max(apart) < 0.1 * threshold_uv


@pytest.mark.parametrize("high_cut_hz", [None, 45.0])
@pytest.mark.parametrize("band", ["smr", "high_beta"])
def test_when_the_guard_ends_a_clench_has_left_less_than_a_tenth_of_the_threshold(
    band: str, high_cut_hz: float | None
) -> None:
    """Also where the amplifier takes everything above 45 Hz away, and the low band must see it.

    A single clench may leave up to twice what its density lets expect: it is noise.
    """
    protocol = one_band(band, 0.24, 2.0, "analytic-fir")
    left = []
    for seed in range(6):
        rng = np.random.default_rng(seed)
        clean, clench = eeg(seed=seed), artifacts.clench(SFREQ, rng, rms_uv=60.0, duration_s=1.0)
        dirty = artifacts.added(clean[:, 0], AT, clench)[:, np.newaxis]
        if high_cut_hz is not None:
            sos = signal.butter(6, high_cut_hz, fs=SFREQ, output="sos")
            clean, dirty = (signal.sosfilt(sos, x, axis=0) for x in (clean, dirty))
        run, undisturbed = ticks(dirty, protocol), ticks(clean, protocol)
        seen = [tick.tick for tick in run if Reason.MUSCLE in tick.reasons]
        clear = next(tick for tick in run[seen[-1] + 1 :] if not tick.reasons)
        left.append(abs(clear.amplitudes_uv[0] - undisturbed[clear.tick].amplitudes_uv[0]))
    assert np.sqrt(np.mean(np.square(left))) < 0.1 * 2.0
    assert max(left) < 0.2 * 2.0


def test_the_guard_lasts_three_tenths_of_a_second_at_least() -> None:
    """With a threshold of 1000 µV nothing that is left matters."""
    protocol = one_band("high_beta", 0.0, 1000.0, "analytic-fir")
    dirty = eeg()
    dirty[AT:] += 200.0
    run = ticks(dirty, protocol)
    seen = [t for t in run if set(t.reasons) & {Reason.STEP, Reason.AMPLITUDE}][-1]
    guard = [t for t in run if t.reasons == (Reason.GUARD,)]
    assert [t.tick for t in guard] == list(range(seen.tick + 1, seen.tick + 16))


def test_a_lower_threshold_is_guarded_for_longer() -> None:
    dirty = eeg()
    dirty[AT:] += 100.0
    ends = [
        first_clear(AT, ticks(dirty, one_band("smr", 0.24, threshold, "analytic-fir"))).time_s
        for threshold in (20.0, 5.0, 2.0, 0.5)
    ]
    assert ends == sorted(ends)
    assert ends[-1] > ends[0] + 0.3


def test_a_nudge_of_the_threshold_is_guarded_at_once() -> None:
    dirty = eeg()
    dirty[AT:] += 100.0
    protocol = one_band("smr", 0.24, 20.0, "analytic-fir")
    end = first_clear(AT, ticks(dirty, protocol))
    nudged = ticks(dirty, protocol, Nudge(end.sample + 1, "smr.threshold", 0.5))
    assert nudged[end.tick].reasons == ()
    assert nudged[end.tick + 1].reasons == (Reason.GUARD,)


def test_a_longer_averaging_is_guarded_for_longer() -> None:
    dirty = eeg()
    dirty[AT:] += 100.0
    ends = [
        first_clear(AT, ticks(dirty, one_band("smr", seconds, 2.0, "analytic-fir"))).time_s
        for seconds in (0.0, 0.24, 1.0)
    ]
    assert ends == sorted(ends)
    assert ends[-1] > ends[0]


def test_settling_lasts_for_the_memory_and_the_longest_averaging() -> None:
    for averaging_s, ticks_of_averaging in ((0.0, 1), (1.0, 50)):
        run = ticks(eeg(), one_band("smr", averaging_s, 2.0, "analytic-fir"))
        settling = [tick for tick in run if Reason.SETTLING in tick.reasons]
        assert len(settling) == 100 + ticks_of_averaging - 2
        assert [tick.tick for tick in settling] == list(range(len(settling)))


def test_reasons_are_named_in_their_order_and_each_once() -> None:
    dirty = eeg()
    dirty[AT : AT + 500] += artifacts.clench(
        SFREQ, np.random.default_rng(0), rms_uv=90.0, duration_s=2.0
    )[:, np.newaxis]
    dirty[AT + 100 :] += 300.0
    order = list(Reason)
    for tick in ticks(dirty, smr_protocol()):
        places = [order.index(reason) for reason in tick.reasons]
        assert places == sorted(set(places))


def test_the_guard_stands_alone_and_only_when_nothing_else_is_seen() -> None:
    dirty = eeg()
    dirty[AT:] += 200.0
    for tick in ticks(dirty, smr_protocol()):
        assert Reason.GUARD not in tick.reasons or tick.reasons == (Reason.GUARD,)


def test_a_swing_on_a_watched_channel_hides_and_its_muscle_does_not() -> None:
    pair = Eeg(SFREQ, ("C4", "Fp1"), seed=5).read(0, 3500)
    swing, clench = pair.copy(), pair.copy()
    rng = np.random.default_rng(1)
    swing[:, 1] = artifacts.added(swing[:, 1], AT, artifacts.movement(SFREQ, rng, peak_uv=300.0))
    clench[:, 1] = artifacts.added(clench[:, 1], AT, artifacts.clench(SFREQ, rng, rms_uv=20.0))
    hidden = {r for t in ticks(swing, smr_protocol())[130:] for r in t.reasons}
    assert Reason.AMPLITUDE in hidden
    assert {r for t in ticks(clench, smr_protocol())[130:] for r in t.reasons} == set()


# ---- whether muscle can be seen at all --------------------------------------------------------


def muscle_seen(samples: Floats) -> bool | None:
    pipeline = Pipeline(smr_protocol(), ("C4",), SFREQ)
    through(pipeline, samples)
    return pipeline.muscle_seen


def test_muscle_cannot_be_seen_where_the_amplifier_filters_at_45_hz() -> None:
    sos = signal.butter(8, 45.0, fs=SFREQ, output="sos")
    assert muscle_seen(np.asarray(signal.sosfilt(sos, eeg(20.0), axis=0))) is False


def test_muscle_can_be_seen_where_noise_reaches_up_to_half_the_rate() -> None:
    noise = 0.5 * np.random.default_rng(0).standard_normal((20 * SFREQ, 1))
    assert muscle_seen(eeg(20.0) + noise) is True


def test_before_five_clear_seconds_nobody_knows() -> None:
    assert muscle_seen(eeg(6.0)) is None
