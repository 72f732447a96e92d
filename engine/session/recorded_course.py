"""The course of a session from its recording: the ticks as they were stored, nothing fed again.

All ticks are taken at once, so that an hour opens in a fraction of a second. What comes out is
what `engine.lookback.keeper` gave while the session ran.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import numpy as np

from engine.chunk import Floats
from engine.events import Reason
from engine.lookback.course import Course, Ints, Span
from engine.lookback.happenings import Happenings, Period
from engine.lookback.keeper import rows_of
from engine.session.recorded_ticks import CourseTicks, ticks_seen
from engine.session.recording_reader import RecordedSession, TickArrays, read_session
from engine.session.rescoring import points_at
from engine.session.shelf import began_utc
from engine.signal.grid import grid_for


def recorded_course(path: Path, passphrase: str = "") -> Course:
    """Return the course of a recording; RecordError when it cannot be read."""
    return course_of(read_session(path, passphrase))


def course_of(session: RecordedSession) -> Course:
    """Return the course of a recording that was opened."""
    happened = Happenings(session.protocol, session.info.sfreq)
    for event in session.events():
        happened.hear(event)
    stored = session.tick_arrays()
    ticks = ticks_seen(session, stored, happened)
    grid = grid_for(session.info.sfreq)
    fixed, would = None, np.empty(0, dtype=np.int64)
    if ticks.running.any():
        fixed = happened.settings_before(int(ticks.ticks[np.argmax(ticks.running)]))
        would = points_at(ticks, session.protocol, fixed, grid)
    table = _table(ticks, happened, grid.tick_s)
    earned = np.array([point.tick for point in happened.points])
    return happened.course(
        rows_of(table, earned, ticks.ticks[would].astype(np.float64)),
        _spans(stored, ticks, grid.tick_s),
        fixed,
        ticks.time_s[would].tolist(),
        int(ticks.samples[-1]) + 1 if ticks.samples.shape[0] else 0,
        id=session.path.stem,
        began_utc=_began(session),
        ended=session.ended,
    )


def _began(session: RecordedSession) -> datetime | None:
    return began_utc(session) if session.n_samples else None


def _table(ticks: CourseTicks, happened: Happenings, tick_s: float) -> Floats:
    """Return the rows that a keeper keeps, (n_rows, 6 + 2 n_conditions)."""
    n = ticks.met.shape[1]
    n_ticks = ticks.ticks.shape[0]
    if not n_ticks:
        return np.empty((0, 6 + 2 * n))
    begins_s = np.maximum(0.0, ticks.time_s - tick_s)
    rounds = np.where(ticks.running, _began_by(happened.rounds, ticks.samples), 0)
    stretches = _inside(happened.stretches, ticks.samples)
    new = np.ones(n_ticks, dtype=bool)
    new[1:] = (
        (np.diff(begins_s.astype(np.int64)) != 0)
        | (np.diff(rounds) != 0)
        | (np.diff(stretches) != 0)
    )
    first = np.flatnonzero(new)
    clear = ticks.clear[:, np.newaxis]
    sums = np.hstack([np.where(clear, ticks.averaged_uv, 0.0), ticks.met & clear])
    return np.column_stack(
        [
            begins_s[first],
            ticks.ticks[first],
            np.diff(np.append(first, n_ticks)),
            np.add.reduceat(ticks.clear.astype(np.int64), first),
            rounds[first],
            stretches[first],
            np.add.reduceat(sums, first, axis=0),
        ]
    )


def _began_by(periods: list[Period], samples: Ints) -> Ints:
    starts = [period.start for period in periods]
    return np.asarray(np.searchsorted(starts, samples, side="right"), dtype=np.int64)


def _inside(periods: list[Period], samples: Ints) -> Ints:
    place = _began_by(periods, samples)
    for number, period in enumerate(periods, start=1):
        if period.stop is not None:
            place[(place == number) & (samples >= period.stop)] = 0
    return place


def _spans(stored: TickArrays, ticks: CourseTicks, tick_s: float) -> list[Span]:
    """Return where the signal was obscured, by the first of its reasons, and where it lacks."""
    n_ticks = stored.ticks.shape[0]
    if not n_ticks:
        return []
    lowest = stored.reasons & -stored.reasons
    before_s = np.concatenate([[0.0], ticks.time_s[:-1]])
    gap = ticks.time_s - before_s > 1.5 * tick_s
    gap[0] = False
    new = gap.copy()
    new[0] = True
    new[1:] |= np.diff(lowest) != 0
    first = np.flatnonzero(new)
    last = np.append(first[1:], n_ticks) - 1
    reasons = tuple(Reason)
    spans = []
    for begin, end in zip(first.tolist(), last.tolist(), strict=True):
        start_s = max(0.0, float(ticks.time_s[begin]) - tick_s)
        if gap[begin]:
            spans.append(Span(float(before_s[begin]), start_s, Reason.GAP))
        if lowest[begin]:
            reason = reasons[int(lowest[begin]).bit_length() - 1]
            spans.append(Span(start_s, float(ticks.time_s[end]), reason))
    return spans
