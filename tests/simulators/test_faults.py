"""Each fault does to a stream what it says, where it says, and nothing else."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from engine.chunk import Floats
from simulators.eeg import Eeg
from simulators.faults import (
    BackwardStamps,
    Burst,
    Clip,
    ClockJump,
    Dropout,
    Fault,
    Flat,
    Missing,
    Restart,
    Twin,
    with_faults,
)
from simulators.steps import Close, Described, Open, Push, Step, live_steps

EEG = Eeg(250, ("C3", "C4"), seed=1)
WHOLE = EEG.read(0, 2500)
DESCRIBED = Described("Simulated", "sim", 250, ("C3", "C4"), ("microvolts", "microvolts"))


def bent(*faults: Fault) -> list[Step]:
    return list(with_faults(live_steps(EEG, DESCRIBED, 10.0), faults))


def pushes(*faults: Fault, key: str = "main") -> list[Push]:
    return [step for step in bent(*faults) if isinstance(step, Push) and step.key == key]


def samples(*faults: Fault) -> Floats:
    return np.concatenate([np.asarray(push.samples, float) for push in pushes(*faults)])


def during(start_s: float, stop_s: float) -> slice:
    """Samples of the pushes at ``start_s`` to before ``stop_s``: each holds the 20 ms before."""
    return slice(round(start_s * 250) - 5, round(stop_s * 250) - 5)


def test_without_faults_the_stream_is_healthy() -> None:
    np.testing.assert_array_equal(samples(), WHOLE)


def test_a_dropout_loses_its_samples_and_no_other() -> None:
    lost = np.delete(WHOLE, np.arange(*during(3.0, 5.0).indices(2500)), axis=0)
    np.testing.assert_array_equal(samples(Dropout(3.0, 2.0)), lost)


def test_a_restart_closes_the_outlet_and_opens_another_later() -> None:
    steps = bent(Restart(4.0, away_s=1.0))
    around = [(type(s), round(s.at_s, 6)) for s in steps if isinstance(s, Open | Close)]
    assert around == [(Open, 0.0), (Close, 4.0), (Open, 5.0), (Close, 10.0)]
    assert not [s for s in steps if isinstance(s, Push) and 4.0 <= s.at_s < 5.0]


def test_a_restart_may_come_back_with_other_channels_and_rate() -> None:
    steps = bent(Restart(4.0, away_s=1.0, ch_names=("C4",), sfreq=500.0))
    again = [step for step in steps if isinstance(step, Open)][1].described
    assert again.ch_names == ("C4",) and again.units == ("microvolts",) and again.sfreq == 500.0
    after = [step for step in steps if isinstance(step, Push) and step.at_s >= 5.0]
    np.testing.assert_array_equal(
        np.concatenate([push.samples for push in after]), WHOLE[during(5.0, 10.1), 1:]
    )


def test_a_clock_jump_moves_every_later_stamp_and_loses_nothing() -> None:
    moved = pushes(ClockJump(6.0, -100.0))
    assert {push.shift_s for push in moved if push.at_s < 6.0} == {0.0}
    assert {push.shift_s for push in moved if push.at_s >= 6.0} == {-100.0}
    assert sum(len(push.samples) for push in moved) == 2500


def test_backward_stamps_alternate_while_they_last() -> None:
    moved = pushes(BackwardStamps(2.0, 1.0, by_s=0.05))
    inside = [push.shift_s for push in moved if 2.0 <= push.at_s < 3.0]
    assert sorted(set(inside)) == [-0.05, 0.0]
    assert {a != b for a, b in itertools.pairwise(inside)} == {True}
    assert {p.shift_s for p in moved if not 2.0 <= p.at_s < 3.0} == {0.0}


def test_a_burst_holds_samples_back_and_sends_them_at_once() -> None:
    burst = pushes(Burst(2.0, 0.3))
    [late] = [push for push in burst if len(push.samples) > 5]
    assert late.at_s == pytest.approx(2.3) and len(late.samples) == 75
    np.testing.assert_array_equal(samples(Burst(2.0, 0.3)), WHOLE)


@pytest.mark.parametrize("channel, spared", [(None, []), (1, [0])])
def test_missing_values_stand_where_they_should(channel: int | None, spared: list[int]) -> None:
    got = samples(Missing(3.0, 0.5, channel))
    touched = np.isnan(got)
    assert touched[during(3.0, 3.5)][:, 1].all()
    assert not touched[:, spared].any()
    assert touched.sum() == 125 * (2 - len(spared))


def test_a_flat_channel_holds_one_value() -> None:
    got = samples(Flat(3.0, 1.0, channel=0))
    assert np.ptp(got[during(3.0, 4.0), 0]) == 0
    np.testing.assert_array_equal(got[:, 1], WHOLE[:, 1])


def test_a_clipped_channel_stays_within_its_limit() -> None:
    got = samples(Clip(3.0, 2.0, limit=1.5))
    np.testing.assert_array_equal(
        got[during(3.0, 5.0)], np.clip(WHOLE[during(3.0, 5.0)], -1.5, 1.5)
    )
    assert np.abs(got[during(5.0, 10.0)]).max() > 1.5


def test_a_twin_sends_the_same_under_the_same_name_for_a_while() -> None:
    steps = bent(Twin(3.0, 1.0))
    twins = [step.described for step in steps if isinstance(step, Open)]
    assert twins == [DESCRIBED, DESCRIBED]
    sent = np.concatenate([push.samples for push in pushes(Twin(3.0, 1.0), key="twin")])
    np.testing.assert_array_equal(sent, WHOLE[during(3.0, 4.0)])
    assert [s.at_s for s in steps if isinstance(s, Close) and s.key == "twin"] == [4.0]


def test_faults_add_up() -> None:
    got = samples(Dropout(2.0, 1.0), Missing(5.0, 1.0))
    assert len(got) == 2250
    assert np.isnan(got).any(axis=1).sum() == 250
