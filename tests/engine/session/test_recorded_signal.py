"""What a recording's samples tell: clear signal alone, each period by itself, as scipy has it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import signal

from engine.events import State
from engine.session.recorded_course import course_of
from engine.session.recorded_signal import RecordedSignal, recorded_signal
from engine.session.recording_reader import RecordedSession, read_session
from tests.engine.records.visits import recorded_visit
from tests.engine.session.examples import INFO
from tests.engine.session.recorded import recorded_session


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> RecordedSession:
    return read_session(recorded_session(tmp_path_factory.mktemp("signal")))


@pytest.fixture(scope="module")
def found(session: RecordedSession) -> RecordedSignal:
    return recorded_signal(session, course_of(session))


def test_the_spectrum_of_training_is_the_mean_of_scipys_clear_windows(
    session: RecordedSession, found: RecordedSignal
) -> None:
    samples = np.concatenate([chunk.samples_uv for chunk in session.chunks()])[:, 0]
    paid = np.zeros(samples.shape[0], dtype=bool)
    for some in session.ticks():
        for last, state, reasons in zip(some.samples, some.states, some.reasons, strict=True):
            paid[last - 4 : last + 1] = state is not State.STOPPED and not reasons
    expected = []
    gap = round(20 * INFO.sfreq)
    for first, end in ((0, gap), (gap, samples.shape[0])):
        for at in range(first, end - 499, 250):
            if paid[at : at + 500].all():
                piece = samples[at : at + 500]
                freqs, power = signal.periodogram(piece, 250.0, "hann", detrend="constant")
                expected.append(power)
    (period,) = found.periods
    assert period.name == "training" and found.signals == ("C4",)
    assert period.spectrum.n_windows == len(expected) > 15
    np.testing.assert_allclose(
        period.spectrum.psd[:, 0], np.mean(expected, axis=0)[freqs <= 100], rtol=1e-9
    )


def test_the_rhythm_stands_in_its_band(found: RecordedSignal) -> None:
    """A sine of 8 µV has a power of 32 µV² (its amplitude squared, halved), half of the time."""
    (period,) = found.periods
    assert period.spectrum.freqs_hz[np.argmax(period.spectrum.psd)] == pytest.approx(13.5)
    smr_uv2 = float(period.spectrum.band_power(12.0, 15.0)[0])
    assert 32 * 0.4 < smr_uv2 < 32 * 0.9
    theta, smr = period.relative
    assert theta.value < 0.05 and smr.value > 0.9


def test_amplitudes_are_counted_while_points_could_be_earned(
    session: RecordedSession, found: RecordedSignal
) -> None:
    n_paid = sum(
        state is not State.STOPPED and not reasons
        for some in session.ticks()
        for state, reasons in zip(some.states, some.reasons, strict=True)
    )
    theta, smr = found.histograms
    assert theta.n == smr.n == n_paid > 500
    assert smr.share.sum() + smr.above == pytest.approx(1.0)
    assert smr.median_uv > theta.median_uv


def test_a_baseline_is_a_period_of_its_own(tmp_path: Path) -> None:
    session = read_session(recorded_visit(tmp_path))
    course = course_of(session)
    found = recorded_signal(session, course)
    assert [period.name for period in found.periods] == ["baseline before", "training"]
    baseline, training = found.periods
    stretch = course.stretches[0]
    assert baseline.spectrum.clear_s <= stretch.stop_s - stretch.start_s
    assert 3 < baseline.spectrum.clear_s < training.spectrum.clear_s
