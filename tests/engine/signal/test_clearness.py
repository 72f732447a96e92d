"""Each thing that hides a signal is named for what it is, and a clean signal hides nothing.

Sizes of blinks and muscle: the simulators' (textbooks, common practice), at C4 unless said.
"""

import numpy as np
import pytest
from scipy import signal

from engine.chunk import Floats
from engine.events import Reason
from engine.protocol import ClearnessLimits
from engine.signal.clearness import MUSCLE_UNSEEN_UV, Clearness, Seen, clearness_for, muscle_band
from engine.signal.decimate import decimator_for
from engine.signal.design import response_of
from engine.signal.grid import grid_for
from simulators import artifacts
from simulators.eeg import EYES_CLOSED, Eeg
from tests.engine.signals import RATES, sine

LIMITS = ClearnessLimits()
ONSET_S = 4.0


def seen_over(samples: Floats, sfreq: float, limits: ClearnessLimits = LIMITS) -> list[Seen]:
    """Stream (n_samples,) or (n_samples, n_signals) through; return what each tick showed."""
    columns = samples.reshape(samples.shape[0], -1)
    grid = grid_for(sfreq)
    clearness, decimator = clearness_for(grid, limits), decimator_for(grid)
    state, recent = clearness.start(columns.shape[1]), decimator.start(columns[0])
    seen = []
    for start in range(0, columns.shape[0] - grid.block + 1, grid.block):
        block = columns[start : start + grid.block]
        recent, decimated = decimator.step(recent, block)
        state, tick = clearness.step(state, block, decimated)
        seen.append(tick)
    return seen


def reasons_over(samples: Floats, sfreq: float) -> set[Reason]:
    """Return all that hides the signal after its first second, in which everything settles."""
    settled = seen_over(samples, sfreq)[round(1 / grid_for(sfreq).tick_s) :]
    return {reason for tick in settled for reason in tick.reasons[0]}


def ticks_with(reason: Reason, samples: Floats, sfreq: float) -> Floats:
    """Return the times, seconds, of the ticks' ends at which ``reason`` held."""
    tick_s = grid_for(sfreq).tick_s
    seen = seen_over(samples, sfreq)
    return np.array([(i + 1) * tick_s for i, tick in enumerate(seen) if reason in tick.reasons[0]])


def eeg(sfreq: int, seconds: float = 10.0, site: str = "C4", seed: int = 1) -> Floats:
    """Return (n_samples,) of clean simulated EEG."""
    return Eeg(sfreq, (site,), seed=seed).read(0, round(seconds * sfreq))[:, 0]


def spoilt(sfreq: int, artifact: Floats, site: str = "C4") -> Floats:
    return artifacts.added(eeg(sfreq, site=site), round(ONSET_S * sfreq), artifact)


def rng() -> np.random.Generator:
    return np.random.default_rng(7)


@pytest.mark.parametrize("site", ["C4", "Fp1", "Pz"])
@pytest.mark.parametrize("sfreq", RATES)
def test_clean_eeg_hides_nothing(sfreq: int, site: str) -> None:
    assert reasons_over(eeg(sfreq, 30.0, site), sfreq) == set()


@pytest.mark.parametrize("sfreq", RATES)
def test_alpha_of_45_uv_with_the_eyes_closed_hides_nothing(sfreq: int) -> None:
    closed = Eeg(sfreq, ("Pz",), seed=2, rhythms=EYES_CLOSED).read(0, 30 * sfreq)[:, 0]
    assert reasons_over(closed, sfreq) == set()


@pytest.mark.parametrize("freq_hz", [8.0, 10.0, 12.0])
@pytest.mark.parametrize("sfreq", RATES)
def test_alpha_of_60_uv_is_neither_a_step_nor_muscle(sfreq: int, freq_hz: float) -> None:
    assert reasons_over(eeg(sfreq) + sine(freq_hz, sfreq, 10, 60.0), sfreq) == set()


@pytest.mark.parametrize("mains_hz", [50.0, 60.0])
@pytest.mark.parametrize("sfreq", RATES)
def test_mains_of_20_uv_is_neither_muscle_nor_a_step(sfreq: int, mains_hz: float) -> None:
    wave = artifacts.line(sfreq, 10 * sfreq, mains_hz, peak_uv=20.0)
    assert reasons_over(eeg(sfreq) + wave, sfreq) == set()


@pytest.mark.parametrize("offset_uv", [-1e5, 1e5])
@pytest.mark.parametrize("sfreq", RATES)
def test_an_electrode_offset_of_100_mv_hides_nothing(sfreq: int, offset_uv: float) -> None:
    """Amplifiers are DC-coupled, and half a cell stands on every electrode."""
    assert reasons_over(eeg(sfreq) + offset_uv, sfreq) == set()


@pytest.mark.parametrize("sfreq", RATES)
def test_slow_drift_hides_nothing(sfreq: int) -> None:
    drift = artifacts.drift(sfreq, rng(), peak_uv=200.0, duration_s=30.0)
    assert reasons_over(eeg(sfreq, 30.0) + drift, sfreq) == set()


@pytest.mark.parametrize("duration_s", [0.2, 0.25, 0.3, 0.35, 0.4])
@pytest.mark.parametrize("peak_uv", [180.0, 300.0, 400.0])
def test_a_blink_at_fp1_is_named_a_blink(peak_uv: float, duration_s: float) -> None:
    blink = artifacts.blink(250, rng(), "Fp1", peak_uv, duration_s)
    times = ticks_with(Reason.BLINK, spoilt(250, blink, "Fp1"), 250)
    assert times.size
    assert times[0] > ONSET_S and times[-1] < ONSET_S + duration_s + 0.4


@pytest.mark.parametrize("sfreq", RATES)
def test_a_blink_is_named_at_every_rate(sfreq: int) -> None:
    blink = artifacts.blink(sfreq, rng(), "Fp1", 250.0, 0.3)
    assert Reason.BLINK in reasons_over(spoilt(sfreq, blink, "Fp1"), sfreq)


def test_a_downward_hump_is_not_a_blink() -> None:
    """The front of the eye is positive: Fp1 and Fp2 rise in a blink."""
    blink = artifacts.blink(250, rng(), "Fp1", 300.0, 0.3)
    reasons = reasons_over(spoilt(250, -blink, "Fp1"), 250)
    assert Reason.BLINK not in reasons
    assert Reason.AMPLITUDE in reasons


@pytest.mark.parametrize("sfreq", RATES)
def test_a_swing_over_the_limit_is_hidden_while_it_lasts(sfreq: int) -> None:
    swing = artifacts.movement(sfreq, rng(), peak_uv=250.0, duration_s=2.0)
    times = ticks_with(Reason.AMPLITUDE, spoilt(sfreq, swing), sfreq)
    assert times.size > 5
    assert times[0] > ONSET_S and times[-1] < ONSET_S + 3.5


def test_a_swing_just_under_the_limit_is_let_pass_and_just_over_it_is_not() -> None:
    """At 3 Hz the high-pass takes 1.4 % off; it has settled after two seconds."""
    under, over = (ticks_with(Reason.AMPLITUDE, sine(3, 250, 6, p), 250) for p in (98.0, 105.0))
    assert not under[under > 2].size
    assert over[over > 2].size


@pytest.mark.parametrize("place", range(5))
@pytest.mark.parametrize("sign", [-1, 1])
@pytest.mark.parametrize("sfreq", [250, 500, 2048])
def test_a_step_of_60_uv_is_named_in_the_tick_that_it_falls_in_or_the_next(
    sfreq: int, sign: int, place: int
) -> None:
    grid = grid_for(sfreq)
    first = round(ONSET_S * sfreq) // grid.block
    at = first * grid.block + place * grid.factor
    quiet = eeg(sfreq) * 0.3
    quiet[at:] += sign * 60.0
    times = ticks_with(Reason.STEP, quiet, sfreq)
    assert times.size
    assert (first + 0.5) * grid.tick_s < times[0] < (first + 2.5) * grid.tick_s


@pytest.mark.parametrize("sfreq", RATES)
def test_an_electrode_pop_is_named_at_once(sfreq: int) -> None:
    pop = artifacts.pop(sfreq, rng(), peak_uv=100.0, decay_s=0.2)
    times = ticks_with(Reason.STEP, spoilt(sfreq, pop), sfreq)
    assert ONSET_S < times[0] <= ONSET_S + 2 * grid_for(sfreq).tick_s + 1e-9


@pytest.mark.parametrize("sfreq", RATES)
def test_a_clench_is_muscle_from_its_first_tenth_of_a_second_on(sfreq: int) -> None:
    clench = artifacts.clench(sfreq, rng(), rms_uv=50.0, duration_s=1.0)
    times = ticks_with(Reason.MUSCLE, spoilt(sfreq, clench), sfreq)
    assert ONSET_S < times[0] < ONSET_S + 0.13
    assert times[-1] < ONSET_S + 1.3
    assert times.size > 0.7 / grid_for(sfreq).tick_s


@pytest.mark.parametrize("sfreq", RATES)
def test_mild_tension_of_the_jaw_is_muscle_most_of_the_time(sfreq: int) -> None:
    """At 250 Hz 8 µV RMS from 20 to 120 Hz are 4 RMS, or 6 peak, in the highest band.

    At 160 Hz only 66-73.6 Hz are left of that band, and it takes twice as much.
    """
    rms_uv = 16.0 if sfreq == 160 else 8.0
    tension = artifacts.jaw_tension(sfreq, rng(), rms_uv=rms_uv, duration_s=4.0)
    times = ticks_with(Reason.MUSCLE, spoilt(sfreq, tension), sfreq)
    held = times[(times > ONSET_S + 0.5) & (times < ONSET_S + 3.5)]
    assert held.size * grid_for(sfreq).tick_s > 0.5 * 3.0


def test_muscle_is_seen_in_the_low_band_where_the_amplifier_filters_the_high_one() -> None:
    """With everything above 45 Hz gone, a clench still fills 30-42 Hz."""
    clench = artifacts.clench(250, rng(), rms_uv=60.0, duration_s=1.0)
    low_pass = signal.butter(8, 45, fs=250, output="sos")
    filtered = signal.sosfiltfilt(low_pass, spoilt(250, clench))
    seen = seen_over(filtered, 250)
    clean = np.median([float(tick.high_band_uv[0]) for tick in seen[:150]])
    assert clean < MUSCLE_UNSEEN_UV
    assert any(Reason.MUSCLE in tick.reasons[0] for tick in seen)


@pytest.mark.parametrize("sfreq", RATES)
def test_a_line_that_stands_still_is_flat_after_a_tenth_of_a_second(sfreq: int) -> None:
    samples = eeg(sfreq)
    at = round(ONSET_S * sfreq)
    samples[at:] = samples[at]
    times = ticks_with(Reason.FLAT, samples, sfreq)
    assert ONSET_S + 0.09 < times[0] < ONSET_S + 0.1 + 2 * grid_for(sfreq).tick_s
    assert times.size > 5 / grid_for(sfreq).tick_s


def test_a_line_with_nothing_but_a_whisper_of_noise_is_flat_after_its_window() -> None:
    """A lead that fell off: 0.02 µV of the amplifier's own noise is no EEG."""
    samples = eeg(250)
    at = round(ONSET_S * 250)
    samples[at:] = samples[at] + 0.02 * rng().standard_normal(samples.size - at)
    times = ticks_with(Reason.FLAT, samples, 250)
    assert ONSET_S + 0.28 < times[0] < ONSET_S + 0.4


@pytest.mark.parametrize("sfreq", RATES)
def test_a_clipped_swing_is_named_though_no_limit_is_broken(sfreq: int) -> None:
    swing = sine(6, sfreq, 8, 90.0)
    assert Reason.CLIPPING not in reasons_over(swing, sfreq)
    assert Reason.CLIPPING in reasons_over(np.clip(swing, -75.0, 75.0), sfreq)


def test_a_clip_shorter_than_a_tick_is_seen_wherever_it_lies() -> None:
    """4 samples of 10, at 512 Hz, however they fall on the ticks."""
    clipped = np.clip(sine(23, 512, 8, 70.0) + sine(1.7, 512, 8, 20.0), -82.0, 82.0)
    times = ticks_with(Reason.CLIPPING, clipped, 512)
    flat_runs = np.diff(np.flatnonzero(np.diff(clipped) == 0))
    assert times.size >= 4
    assert flat_runs.size


def test_equal_neighbours_of_a_coarse_converter_are_not_clipping() -> None:
    coarse = np.round(eeg(250, 30.0) / 0.5) * 0.5
    assert Reason.CLIPPING not in reasons_over(coarse, 250)


@pytest.mark.parametrize("sfreq", [250, 256, 500])
def test_the_muscle_bands_shut_out_the_mains_the_alpha_and_all_offset(sfreq: int) -> None:
    made: Clearness = clearness_for(grid_for(sfreq), LIMITS)
    for taps in made.muscle_taps:
        gain = np.abs(response_of(taps, made.grid.sfreq_decimated, np.array([0.0, 10, 50, 60])))
        assert gain[0] < 1e-12
        assert gain[1:].max() < 0.06


@pytest.mark.parametrize(
    ("sfreq", "band"),
    [(250, (66, 95)), (400, (66, 95)), (200, (66, 92)), (160, (66, 73.6)), (128, (30, 42))],
)
def test_muscle_is_looked_for_in_the_highest_band_clear_of_the_mains(
    sfreq: int, band: tuple[float, float]
) -> None:
    assert muscle_band(sfreq) == pytest.approx(band)


def test_the_density_of_white_noise_is_told() -> None:
    """Of the two bands' estimates over 0.1 s the larger is taken, which lies a third too high."""
    noise = 2.0 * np.sqrt(125) * rng().standard_normal((2500, 40))
    density = np.stack([tick.density_uv for tick in seen_over(noise, 250)[10:]])
    assert 2.0 < np.sqrt(np.mean(np.square(density))) < 2.8


def test_the_trace_is_the_signal_high_passed_at_half_a_hertz() -> None:
    samples = eeg(250) + 700.0
    sos = signal.butter(1, 0.5, "highpass", fs=250, output="sos")
    zi = signal.sosfilt_zi(sos) * samples[0]
    expected, _ = signal.sosfilt(sos, samples, zi=zi)
    trace = np.concatenate([tick.trace_uv[:, 0] for tick in seen_over(samples, 250)])
    np.testing.assert_allclose(trace, expected[: trace.size], atol=1e-9)


def test_signals_side_by_side_are_judged_each_by_itself() -> None:
    pair = np.stack([eeg(250), spoilt(250, artifacts.step(250, rng(), height_uv=150.0))], axis=1)
    seen = seen_over(pair, 250)
    assert not any(tick.reasons[0] for tick in seen)
    assert any(Reason.STEP in tick.reasons[1] for tick in seen)
