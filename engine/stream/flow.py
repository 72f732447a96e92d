"""From raw samples to what the host hears: segments, data, and remarks about both. Pure.

Samples go out in order as soon as their place is certain (see `engine.stream.arrival`), each in
the segment announced last. Times are sample counts over the accepted rate; the stamps only tell
how long a break was.
"""

from __future__ import annotations

from collections import deque

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Floats, StreamInfo, chunk_of
from engine.stream.arrival import ArrivalWatch, Break
from engine.stream.messages import Data, RateOff, Returned, Segment, SourceMessage, SourceNote
from engine.stream.opening import Pulled
from engine.stream.rate import RateWatch, Verdict

BACK_WITHIN = 0.008
"""A rate that was off counts as back only when it is clearly within 1 %."""

QUIET_ABOUT_VALUES_S = 10.0
ODD_SHARE = 0.05
ODD_AFTER_S = 10.0
CLOCKS_AGREE_S = 1.0
FASTEST_REPLAY = 20.0
"""Stamps of one outlet that ran further ahead than this during a loss were set."""

WORTH_SAYING_S = 0.05
"""Stamps that step back by less are the ordinary jitter of a busy computer."""


class Flow:
    """One session's samples of one stream. Every method returns messages in order."""

    def __init__(self, info: StreamInfo):
        self.info = info
        self.off_rate = False
        self._watch = ArrivalWatch(info.sfreq)
        self._rate = RateWatch(info.sfreq)
        self._pending: deque[tuple[Pulled, bool, float]] = deque()
        self._n_out = 0
        self._segment_s = 0.0
        self._n_in_segment = 0
        self._last_stamp_s = np.nan
        self._last_arrival_s = np.nan
        self._said: set[str] = set()
        self._values_wrong_at = -np.inf

    @property
    def next_s(self) -> float:
        """Time of the next sample, were it to join on: seconds since the session's first."""
        return self._segment_s + self._n_in_segment / self.info.sfreq

    def start(self) -> list[SourceMessage]:
        """Announce the first segment."""
        return [Segment(0.0, "start")]

    def feed(self, pulled: Pulled, newest_s: float, live: bool = True) -> list[SourceMessage]:
        """Take consecutive samples; ``newest_s`` is the newest stamp that was pulled with them."""
        if not pulled.stamps_s.size:
            return []
        pause_s = None
        if np.isfinite(self._last_arrival_s):
            pause_s = pulled.arrival_s - self._last_arrival_s
        self._last_arrival_s = pulled.arrival_s
        self._pending.append((pulled, live, newest_s))
        breaks = self._watch.feed(pulled.stamps_s, pause_s)
        return [*self._deliver(breaks), *self._remarks()]

    def lost(self) -> list[SourceMessage]:
        """Deliver what was held back: nothing follows that could tell more."""
        return self._deliver(self._watch.flush())

    def returned(self, first: Pulled, same_outlet: bool, uid: str, why: str) -> list[SourceMessage]:
        """Begin a segment with samples that come after a loss (`feed` them next).

        How long the loss was is told by the stamps where they can be the same clock's, else by
        the local clock at arrival.
        """
        away_s = first.arrival_s - self._last_arrival_s
        stamps = first.stamps_s[np.isfinite(first.stamps_s)]
        if stamps.size and np.isfinite(self._last_stamp_s):
            by_stamps = float(stamps[0]) - self._last_stamp_s
            one_clock = same_outlet and by_stamps < FASTEST_REPLAY * away_s
            if by_stamps > 0 and (one_clock or abs(by_stamps - away_s) < CLOCKS_AGREE_S):
                away_s = by_stamps
        step = 1.0 / self.info.sfreq
        self._watch.new_segment()
        self._rate.new_segment()
        self._last_arrival_s = np.nan
        return [Returned(uid, why), self._begin(self.next_s - step + max(away_s, step), why)]

    def _begin(self, start_s: float, why: str) -> Segment:
        self._segment_s, self._n_in_segment = start_s, 0
        return Segment(start_s, why)

    def _deliver(self, breaks: tuple[Break, ...]) -> list[SourceMessage]:
        """Send every sample that is settled, with the segments that breaks begin."""
        messages: list[SourceMessage] = []
        coming = deque(breaks)
        while self._pending and self._n_out < self._watch.settled:
            end = min(self._watch.settled, coming[0].index if coming else self._watch.settled)
            if end == self._n_out:
                messages += self._break(coming.popleft())
                continue
            messages += self._send(end - self._n_out)
        return messages

    def _send(self, n_most: int) -> list[SourceMessage]:
        """Send up to ``n_most`` samples, as many as the oldest chunk has."""
        pulled, live, newest_s = self._pending.popleft()
        n = min(n_most, pulled.stamps_s.size)
        if n < pulled.stamps_s.size:
            rest = Pulled(pulled.raw[n:], pulled.stamps_s[n:], pulled.arrival_s)
            self._pending.appendleft((rest, live, newest_s))
        raw, stamps = pulled.raw[:n], pulled.stamps_s[:n]
        lag_s = max(0.0, newest_s - float(stamps[-1])) if np.isfinite(stamps[-1]) else 0.0
        messages: list[SourceMessage] = [*self._about_values(raw)]
        messages.append(Data(chunk_of(raw, self.info.to_uv, stamps, pulled.arrival_s), lag_s, live))
        self._n_out += n
        self._n_in_segment += n
        if np.isfinite(stamps).any():
            self._last_stamp_s = float(stamps[np.isfinite(stamps)][-1])
        messages += self._about_rate(self._rate.feed(stamps))
        return messages

    def _break(self, found: Break) -> list[SourceMessage]:
        self._rate.new_segment()
        if found.clock:
            jumped = "back" if found.lead_s < 0 else "ahead"
            note = SourceNote(
                f"The clock of {self.info.name} jumped {jumped} by {abs(found.lead_s):.3g} s; "
                "a new segment begins, and how many samples are missing is not known."
            )
            return [note, self._begin(self.next_s, "clock jump")]
        why = f"gap of {found.n_missing} samples"
        return [self._begin(self.next_s + found.n_missing / self.info.sfreq, why)]

    def _about_rate(self, verdict: Verdict | None) -> list[SourceMessage]:
        if verdict is None or verdict.within is None:
            return []
        off_by = abs(verdict.rate.sfreq / self.info.sfreq - 1)
        if not self.off_rate and not verdict.within:
            self.off_rate = True
            return [RateOff(verdict.rate.sfreq, True)]
        if self.off_rate and off_by <= BACK_WITHIN:
            self.off_rate = False
            return [RateOff(verdict.rate.sfreq, False)]
        return []

    def _about_values(self, raw: NDArray[np.generic]) -> list[SourceNote]:
        """Say which channels hold NaN or inf, once for each spell of it."""
        if not np.issubdtype(raw.dtype, np.floating):
            return []
        wrong = ~np.isfinite(raw).all(axis=0)
        if not wrong.any():
            return []
        spell_goes_on = self.next_s - self._values_wrong_at < QUIET_ABOUT_VALUES_S
        self._values_wrong_at = self.next_s
        if spell_goes_on:
            return []
        names = ", ".join(np.asarray(self.info.ch_names)[wrong].tolist())
        return [SourceNote(f"Values are missing (NaN or infinite) in {names}; nothing is earned.")]

    def _remarks(self) -> list[SourceMessage]:
        odd, name = self._watch.irregular, self.info.name
        remarks: list[SourceMessage] = []
        if odd.furthest_back_s > WORTH_SAYING_S:
            remarks += self._once(
                "backward",
                f"The time stamps of {name} step backwards (by up to {odd.furthest_back_s:.2g} s): "
                "chunks are stamped as they arrive; samples are counted instead.",
            )
        if odd.n_not_a_time:
            remarks += self._once(
                "time", f"Some time stamps of {name} are no times; samples are counted instead."
            )
        enough = odd.n_stamps >= ODD_AFTER_S * self.info.sfreq
        if enough and odd.n_odd > ODD_SHARE * odd.n_stamps:
            remarks += self._once(
                "odd",
                f"The time stamps of {name} are unevenly spaced ({odd.n_odd / odd.n_stamps:.0%} of "
                "them); samples are counted instead.",
            )
        return remarks

    def _once(self, about: str, sentence: str) -> list[SourceNote]:
        if about in self._said:
            return []
        self._said.add(about)
        return [SourceNote(sentence)]


def newest_stamp(pulls: list[Pulled]) -> float:
    """Return the newest stamp of what was pulled together; -inf where there is none."""
    newest = -np.inf
    for pulled in pulls:
        finite: Floats = pulled.stamps_s[np.isfinite(pulled.stamps_s)]
        if finite.size:
            newest = max(newest, float(finite[-1]))
    return newest
