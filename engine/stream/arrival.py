"""Breaks in a stream, found from raw time stamps and the count of samples alone.

A sample's *lead* is how far its stamp runs ahead of its count. Late chunks and bursts make it
rise and fall back; samples that never came make it rise and stay; a clock that was set makes it
jump. So samples with a suspicious lead are held until it is known which of these it is: nothing
is rewarded across a gap that would be noticed too late. Pure: no clock, no stream.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from engine.chunk import Floats

HOLD_S = 0.25
"""A lead that stays this long, in samples, is no late chunk."""

LEAST_LEAD_S, MOST_LEAD_S = 0.05, 0.09
"""A lead is suspicious from six times the usual jitter on, within these."""

BACKWARD_S = 0.2
FOLLOW_S = 1.0
"""Time constant with which slow drift is followed: 1 % of rate error is a lead of 10 ms."""

BURST_S = 2.0
"""A burst that still catches up after this long is taken as a gap."""

CLOCK_JUMP_S = 1.0


@dataclass(frozen=True)
class Break:
    """``index``: first sample after it, counted from the watch's first. ``lead_s`` may be < 0.

    ``clock`` tells a clock that was set from a gap; ``n_missing`` samples never came (0 for a
    clock: how many is not known).
    """

    index: int
    lead_s: float
    n_missing: int
    clock: bool


class _Sample(NamedTuple):
    number: int
    stamp_s: float
    pause_s: float | None


@dataclass
class Irregular:
    """Counts of what is odd about stamps but harmless."""

    n_stamps: int = 0
    n_backward: int = 0
    n_odd: int = 0
    n_not_a_time: int = 0
    furthest_back_s: float = 0.0


class ArrivalWatch:
    """Follows the stamps of one stream at ``sfreq`` (Hz); feed it every sample once, in order."""

    def __init__(self, sfreq: float):
        self.sfreq = sfreq
        self.irregular = Irregular()
        self._hold = max(3, round(HOLD_S * sfreq))
        self._follow = 1.0 / (FOLLOW_S * sfreq)
        self._fed = 0
        self._settled = 0
        self._last_stamp = np.nan
        self._restart()

    @property
    def settled(self) -> int:
        """Number of samples, counted from the first, whose place is decided."""
        return self._settled

    def _restart(self) -> None:
        self._base = np.nan
        self._age = 0
        self._before = -np.inf
        self._jitter = LEAST_LEAD_S / 6
        self._held: deque[_Sample] = deque()

    def feed(self, stamps_s: Floats, pause_s: float | None = None) -> tuple[Break, ...]:
        """Take the stamps of consecutive samples, (n_samples,); return the breaks now certain.

        ``pause_s`` is how long nothing had arrived before this chunk, None where unknown (a
        file): a stream that never paused can have lost no more than a moment.
        """
        found: list[Break] = []
        self._count_irregular(stamps_s)
        for stamp in stamps_s.tolist():
            sample = _Sample(self._fed, stamp, pause_s)
            self._fed += 1
            self._work(deque([sample]), found)
        return tuple(found)

    def flush(self) -> tuple[Break, ...]:
        """Decide about held samples now, since nothing follows them."""
        found: list[Break] = []
        while self._held:
            self._work(self._confirm(found), found)
        return tuple(found)

    def new_segment(self) -> None:
        """Forget where the stamps stood: the next sample joins on to nothing. Flush first."""
        self._restart()
        self._last_stamp = np.nan

    def _work(self, todo: deque[_Sample], found: list[Break]) -> None:
        """Take samples in order; after a break those that were held are taken again first."""
        while todo:
            if self._take(todo.popleft()):
                todo.extendleft(reversed(self._confirm(found)))

    def _take(self, sample: _Sample) -> bool:
        """Accept or hold one sample; True when the held ones are to be confirmed as a break."""
        if not math.isfinite(sample.stamp_s):
            if self._held:
                self._held.append(sample)
            else:
                self._settled = sample.number + 1
            return False
        lead = self._lead(sample)
        if not self._held and not self._is_suspicious(lead):
            self._accept(lead, sample)
            return False
        self._held.append(sample)
        if -BACKWARD_S / 2 < lead < self._limit / 2:
            self._release()
            return False
        return self._is_decided()

    def _lead(self, sample: _Sample) -> float:
        if math.isnan(self._base):
            self._base = sample.stamp_s - sample.number / self.sfreq
        return sample.stamp_s - sample.number / self.sfreq - self._base

    @property
    def _limit(self) -> float:
        return min(max(6 * self._jitter, LEAST_LEAD_S), MOST_LEAD_S)

    def _is_suspicious(self, lead: float) -> bool:
        return lead > self._limit or (lead < -BACKWARD_S and self._age >= self._hold)

    def _accept(self, lead: float, sample: _Sample) -> None:
        """Follow an unsuspicious sample, closely at first and then slowly."""
        young = self._age < self._hold
        if young and lead < 0:
            self._base += lead  # what came before was late
        else:
            self._base += self._follow * (4 if young else 1) * lead
        self._jitter += self._follow * (min(abs(lead), MOST_LEAD_S) - self._jitter)
        # A burst grows no older, so that one at a segment's start is followed to its end.
        self._age += (sample.stamp_s - self._before) * self.sfreq > 0.5
        self._before = sample.stamp_s
        self._settled = sample.number + 1

    def _accept_held(self, held: deque[_Sample]) -> None:
        """Accept samples whose lead says nothing, late or just after a break."""
        for sample in held:
            if math.isfinite(sample.stamp_s):
                lead = self._lead(sample)
                self._accept(min(max(lead, -self._limit), self._limit), sample)
            self._settled = sample.number + 1

    def _release(self) -> None:
        """The lead fell back: the held samples were late, none is missing."""
        held, self._held = self._held, deque()
        self._accept_held(held)

    def _is_decided(self) -> bool:
        """Long enough, and the stamps no longer catch up (a burst has no time between stamps)."""
        n = len(self._held)
        if n < self._hold:
            return False
        recent = self._hold // 2
        passed = self._held[-1].stamp_s - self._held[-1 - recent].stamp_s
        steady = 0.5 <= passed * self.sfreq / recent <= 2.0
        return steady or n >= BURST_S * self.sfreq

    def _confirm(self, found: list[Break]) -> deque[_Sample]:
        """The lead stayed: note a break; return the held samples that are to be taken again."""
        held, self._held = self._held, deque()
        first = held[0]
        leads = [self._lead(s) for s in list(held)[: self._hold] if math.isfinite(s.stamp_s)]
        lead = float(np.median(leads))
        pauses = [s.pause_s for s in held if s.pause_s is not None]
        unpaused = bool(pauses) and max(pauses) < lead / 4
        clock = lead < 0 or (lead > CLOCK_JUMP_S and unpaused)
        found.append(Break(first.number, lead, 0 if clock else round(lead * self.sfreq), clock))
        self._base += lead
        self._age = self._hold
        firm = min(len(held), self._hold // 4 + 1)  # a break takes some samples with it
        self._accept_held(deque(held.popleft() for _ in range(firm)))
        return held

    def _count_irregular(self, stamps_s: Floats) -> None:
        finite = np.isfinite(stamps_s)
        steps = np.diff(np.concatenate([[self._last_stamp], stamps_s[finite]]))
        steps = steps[np.isfinite(steps)]
        odd = self.irregular
        odd.n_stamps += stamps_s.size
        odd.n_not_a_time += int(np.sum(~finite))
        if finite.any():
            self._last_stamp = float(stamps_s[finite][-1])
        if steps.size:
            backward = steps[steps < 0]
            odd.n_backward += int(backward.size)
            odd.n_odd += int(np.sum(np.abs(steps * self.sfreq - 1) > 0.5))
            if backward.size:
                odd.furthest_back_s = max(odd.furthest_back_s, float(-backward.min()))
