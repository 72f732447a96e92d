"""Whether bursts in a band look like sleep spindles: a hint that the client may be drowsy.

A sleep spindle is a train of waves of 11-16 Hz that stands out and lasts half a second or more
(AASM manual for the scoring of sleep; from memory). It fills the band from 12 to 15 Hz and would
earn points. A burst alone proves nothing: SMR comes in bursts too, so this only suggests, when
several long ones follow each other, and the operator decides. On 26 minutes of rest of ten
people who were awake, most with eyes closed, it suggested once.
"""

from __future__ import annotations

from collections import deque

import numpy as np

from engine.events import Tick
from engine.protocol import Protocol

LOWEST_HZ, HIGHEST_HZ = 11.0, 16.0
LASTS_S = (0.5, 3.0)
STANDS_OUT = 2.2
"""A burst is so many times the median of the minute before it."""

BURSTS = 3
WITHIN_S = 60.0
LEAST_S = 30.0
"""With less clear time than this behind it nothing is called a burst."""

AGAIN_S = 300.0


def spindle_condition(protocol: Protocol) -> int | None:
    """Return the first condition that lies where spindles do; None where none does."""
    for place, condition in enumerate(protocol.conditions):
        if condition.low_hz >= LOWEST_HZ and condition.high_hz <= HIGHEST_HZ:
            return place
    return None


class SpindleWatch:
    """Follows the ticks of one condition."""

    def __init__(self, place: int, tick_s: float):
        self._place, self._tick_s = place, tick_s
        self._minute: deque[float] = deque(maxlen=round(WITHIN_S / tick_s))
        self._bursts: deque[float] = deque()
        self._n_high = 0
        self._limit = np.inf
        self._n_ticks = 0
        self._said_s = -np.inf

    def hear(self, tick: Tick) -> bool:
        """Take a tick; return whether to suggest drowsiness now. A hidden tick ends a burst."""
        if tick.reasons:
            self._n_high = 0
            return False
        value = tick.amplitudes_uv[self._place]
        self._minute.append(value)
        self._n_ticks += 1
        every = max(1, round(1.0 / self._tick_s))
        if self._n_ticks % every == 0 and len(self._minute) * self._tick_s >= LEAST_S:
            self._limit = STANDS_OUT * float(np.median(self._minute))
        if value >= self._limit:
            self._n_high += 1
            return False
        lasted_s, self._n_high = self._n_high * self._tick_s, 0
        if not LASTS_S[0] <= lasted_s <= LASTS_S[1]:
            return False
        self._bursts.append(tick.time_s)
        while tick.time_s - self._bursts[0] > WITHIN_S:
            self._bursts.popleft()
        if len(self._bursts) < BURSTS or tick.time_s - self._said_s < AGAIN_S:
            return False
        self._said_s = tick.time_s
        return True
