"""A recording second by second: what the ticks of each came to."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.events import PointEarned, SettingChanged, State
from engine.export.timeline import Timeline
from engine.session.recording_reader import RecordedSession


@dataclass(frozen=True)
class Second:
    """The ticks whose last sample lies in one second.

    Attributes
    ----------
    time_s : where it begins, whole seconds. part : the round or stretch at its middle, or empty.
    mean_uv : amplitude a condition before averaging, over clear ticks; nan without any.
    thresholds_uv : in force at its end.
    clear, holding : share of ticks that nothing hides, and of those that count for a hold, 0-1.
    points : earned in it.
    """

    time_s: int
    part: str
    mean_uv: tuple[float, ...]
    thresholds_uv: tuple[float, ...]
    clear: float
    holding: float
    points: int


class _Sums:
    """Over the ticks of one second."""

    def __init__(self, second: int, n_conditions: int):
        self.second = second
        self.amplitudes_uv = np.zeros(n_conditions)
        self.n = self.n_clear = self.n_holding = 0

    def add(self, fast_uv: NDArray[np.float64], state: State, clear: bool) -> None:
        self.n += 1
        self.n_holding += state is State.HOLDING
        if clear:
            self.n_clear += 1
            self.amplitudes_uv += fast_uv


def seconds_of(session: RecordedSession, timeline: Timeline) -> Iterator[Second]:
    """Yield every second that holds a tick, in order; what lies in a gap is left out."""
    thresholds = _Thresholds(session)
    spans = [h for h in timeline.happenings if h.kind in ("round", "stretch") and h.duration_s]
    points = Counter(int(e.onset_s) for e in session.events() if isinstance(e, PointEarned))
    for sums in _summed(session, timeline):
        middle_s = sums.second + 0.5
        parts = [h.text for h in spans if 0 <= middle_s - h.onset_s < (h.duration_s or 0.0)]
        yield Second(
            time_s=sums.second,
            part=parts[-1] if parts else "",
            mean_uv=tuple((sums.amplitudes_uv / (sums.n_clear or np.nan)).tolist()),
            thresholds_uv=thresholds.before(sums.second + 1.0),
            clear=sums.n_clear / sums.n,
            holding=sums.n_holding / sums.n,
            points=points[sums.second],
        )


def _summed(session: RecordedSession, timeline: Timeline) -> Iterator[_Sums]:
    n_conditions = len(session.protocol.conditions)
    sums = _Sums(0, n_conditions)
    for row in session.ticks():
        seconds = np.floor(timeline.times_s(row.samples)).astype(int).tolist()
        ticks = zip(seconds, row.fast_uv, row.states, row.reasons, strict=True)
        for second, fast_uv, state, reasons in ticks:
            if second != sums.second:
                if sums.n:
                    yield sums
                sums = _Sums(second, n_conditions)
            sums.add(fast_uv, state, clear=not reasons)
    if sums.n:
        yield sums


class _Thresholds:
    """The course of a session's thresholds, gone through once."""

    def __init__(self, session: RecordedSession):
        conditions = session.protocol.conditions
        self._now = [c.threshold_uv for c in conditions]
        self._place = {f"{c.band}.threshold": i for i, c in enumerate(conditions)}
        self._coming = [e for e in session.events() if isinstance(e, SettingChanged)][::-1]

    def before(self, time_s: float) -> tuple[float, ...]:
        """Return the thresholds just before ``time_s``, which never steps back."""
        while self._coming and self._coming[-1].onset_s < time_s:
            change = self._coming.pop()
            if change.key in self._place:
                self._now[self._place[change.key]] = change.new
        return tuple(self._now)
