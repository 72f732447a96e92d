"""Bursts like sleep spindles suggest drowsiness; steady SMR, short bursts and artifacts do not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from engine.chunk import Floats
from engine.events import Reason, State, Tick
from engine.lookback.course import Bools
from engine.practice.spindles import AGAIN_S, SpindleWatch, spindle_condition
from tests.engine.lookback.courses import PROTOCOL

TICK_S = 0.02
RATE = round(1 / TICK_S)


def suggested(levels: Floats, hidden: Bools | None = None) -> list[float]:
    """Return the times at which drowsiness is suggested, seconds."""
    watch = SpindleWatch(1, TICK_S)
    found = []
    for n, level in enumerate(levels.tolist()):
        reasons = (Reason.MUSCLE,) if hidden is not None and hidden[n] else ()
        amplitudes = (8.0, level, 5.0)
        tick = Tick(
            n, n * 5, n * TICK_S, amplitudes, amplitudes, (True,) * 3, State.WAITING, reasons, 0, 0
        )
        if watch.hear(tick):
            found.append(n * TICK_S)
    return found


def with_bursts(onsets_s: list[float], lasts_s: float, times: float, length_s: float) -> Floats:
    """Return a steady SMR of 3 µV with bursts ``times`` as large."""
    levels = np.full(round(length_s * RATE), 3.0)
    for onset_s in onsets_s:
        levels[round(onset_s * RATE) : round((onset_s + lasts_s) * RATE)] *= times
    return levels


def test_three_long_bursts_in_a_minute_suggest_drowsiness() -> None:
    assert suggested(with_bursts([40.0, 55.0, 70.0], 1.0, 3.0, 90.0)) == [pytest.approx(71.0)]


@pytest.mark.parametrize(
    ("onsets_s", "lasts_s", "times"),
    [
        ([40.0, 55.0], 1.0, 3.0),
        ([40.0, 55.0, 101.0], 1.0, 3.0),
        ([40.0, 55.0, 70.0], 0.3, 3.0),
        ([40.0, 55.0, 70.0], 5.0, 3.0),
        ([40.0, 55.0, 70.0], 1.0, 1.8),
        ([5.0, 12.0, 20.0], 1.0, 3.0),
    ],
    ids=["too few", "too far apart", "too short", "too long", "too small", "too early"],
)
def test_anything_less_does_not(onsets_s: list[float], lasts_s: float, times: float) -> None:
    assert suggested(with_bursts(onsets_s, lasts_s, times, 120.0)) == []


def test_a_hidden_burst_is_none() -> None:
    levels = with_bursts([40.0, 55.0, 70.0], 1.0, 3.0, 90.0)
    assert suggested(levels, levels > 5.0) == []


def test_it_is_not_said_again_at_once() -> None:
    onsets = [40.0 + 10 * n for n in range(60)]
    found = suggested(with_bursts(onsets, 1.0, 3.0, 660.0))
    assert len(found) == 2 and found[1] - found[0] >= AGAIN_S


def test_only_a_band_where_spindles_lie_is_watched() -> None:
    assert spindle_condition(PROTOCOL) == 1
    theta_alone = replace(PROTOCOL, conditions=PROTOCOL.conditions[:1])
    assert spindle_condition(theta_alone) is None
