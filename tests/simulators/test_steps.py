"""A healthy stream as a script: whole samples, paced by count, at any rate."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from engine.chunk import Floats
from simulators.eeg import Eeg
from simulators.steps import Close, Described, Open, Push, live_steps


def described(sfreq: float, unit: str = "microvolts") -> Described:
    return Described("Simulated", "sim", sfreq, ("C4",), (unit,))


@pytest.mark.parametrize("sfreq", [160, 250, 333.33, 1000])
def test_every_sample_is_sent_once_when_it_is_due(sfreq: float) -> None:
    eeg = Eeg(sfreq, ("C4",), seed=1)
    pushes = [s for s in live_steps(eeg, described(sfreq), 30.0) if isinstance(s, Push)]
    samples = np.concatenate([push.samples for push in pushes])
    np.testing.assert_array_equal(samples, eeg.read(0, int(30 * sfreq + 1e-6)))
    sent = itertools.accumulate(len(push.samples) for push in pushes)
    assert all(
        -1e-6 <= push.at_s * sfreq - n < 1 - 1e-6 for push, n in zip(pushes, sent, strict=True)
    )


def test_a_stream_opens_first_and_closes_last() -> None:
    steps = list(live_steps(Eeg(250, ("C4",)), described(250), 1.0))
    assert isinstance(steps[0], Open) and steps[0].at_s == 0.0
    assert isinstance(steps[-1], Close) and steps[-1].at_s == pytest.approx(1.0)


def test_without_an_end_it_goes_on() -> None:
    steps = live_steps(Eeg(250, ("C4",)), described(250))
    assert len(list(itertools.islice(steps, 3000))) == 3000


def test_a_stream_in_volts_sends_volts() -> None:
    def first(unit: str) -> Floats:
        steps = live_steps(Eeg(250, ("C4",), seed=1), described(250, unit))
        return next(np.asarray(s.samples, float) for s in steps if isinstance(s, Push))

    np.testing.assert_allclose(first("V"), first("microvolts") / 1e6)
    np.testing.assert_array_equal(first(""), first("microvolts"))
