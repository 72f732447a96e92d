"""The course of a session from its recording: the ticks as they were stored, nothing fed again.

All ticks are taken at once, so that an hour opens in a fraction of a second. What comes out is
what `engine.lookback.keeper` gave while the session ran.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from engine.chunk import Floats
from engine.events import Reason, SettingChanged, State
from engine.lookback.course import Bools, Course, Ints, Span
from engine.lookback.happenings import Happenings, Period
from engine.lookback.keeper import rows_of
from engine.reward.criterion import Times
from engine.reward.scan import points_of
from engine.session.recording_reader import RecordedSession, TickArrays, read_session
from engine.session.shelf import began_utc
from engine.settings import Settings
from engine.signal.grid import Grid, grid_for

_STOPPED = list(State).index(State.STOPPED)


@dataclass(frozen=True, eq=False)
class CourseTicks:
    """Every tick of a recording, as the criterion saw it.

    Attributes
    ----------
    ticks, samples : (n_ticks,), as in `TickArrays`. time_s : (n_ticks,), of the tick's last sample.
    averaged_uv : (n_ticks, n_conditions), by the averaging of the moment; right wherever clear.
    met : (n_ticks, n_conditions), at the thresholds of the moment.
    clear : (n_ticks,). running : (n_ticks,), in a round and nothing held off.
    """

    ticks: Ints
    samples: Ints
    time_s: Floats
    averaged_uv: Floats
    met: Bools
    clear: Bools
    running: Bools


def recorded_course(path: Path, passphrase: str = "") -> Course:
    """Return the course of a recording; RecordError when it cannot be read."""
    return course_of(read_session(path, passphrase))


def course_of(session: RecordedSession) -> Course:
    """Return the course of a recording that was opened."""
    happened = Happenings(session.protocol, session.info.sfreq)
    for event in session.events():
        happened.hear(event)
    stored = session.tick_arrays()
    ticks = _seen(session, stored, happened)
    fixed, would = _fixed(session, stored, ticks, happened)
    table = _table(ticks, happened, grid_for(session.info.sfreq).tick_s)
    earned = np.array([point.tick for point in happened.points])
    return happened.course(
        rows_of(table, earned, ticks.ticks[would].astype(np.float64)),
        _spans(stored, ticks, grid_for(session.info.sfreq).tick_s),
        fixed,
        ticks.time_s[would].tolist(),
        int(ticks.samples[-1]) + 1 if ticks.samples.shape[0] else 0,
        id=session.path.stem,
        began_utc=_began(session),
        ended=session.ended,
    )


def recorded_ticks(session: RecordedSession) -> CourseTicks:
    """Return every tick of a recording, as the criterion saw it."""
    happened = Happenings(session.protocol, session.info.sfreq)
    for event in session.events():
        happened.hear(event)
    return _seen(session, session.tick_arrays(), happened)


def _began(session: RecordedSession) -> datetime | None:
    return began_utc(session) if session.n_samples else None


def _seen(session: RecordedSession, stored: TickArrays, happened: Happenings) -> CourseTicks:
    protocol, grid = session.protocol, grid_for(session.info.sfreq)
    averaged = np.empty_like(stored.fast_uv)
    met = np.empty(stored.fast_uv.shape, dtype=bool)
    for first, last, settings in _in_force(protocol.settings, happened.changes, stored.ticks):
        for i, above in enumerate(protocol.above):
            column = moving_mean(
                stored.fast_uv[:, i], grid.averaged_ticks(settings.averaging_s[i]), first, last
            )
            averaged[first:last, i] = column
            threshold = settings.thresholds_uv[i]
            met[first:last, i] = column >= threshold if above else column <= threshold
    return CourseTicks(
        ticks=stored.ticks,
        samples=stored.samples,
        time_s=_times(stored.samples, happened, session.info.sfreq),
        averaged_uv=averaged,
        met=met,
        clear=stored.reasons == 0,
        running=stored.states != _STOPPED,
    )


def _in_force(
    start: Settings, changes: Sequence[SettingChanged], ticks: Ints
) -> list[tuple[int, int, Settings]]:
    """Return (first, end, settings) of every stretch of ticks between two changes."""
    found, settings, first = [], start, 0
    for change in changes:
        at = int(np.searchsorted(ticks, change.tick))
        if at > first:
            found.append((first, at, settings))
            first = at
        settings = settings.changed(change.key, change.new)
    if ticks.shape[0] > first:
        found.append((first, ticks.shape[0], settings))
    return found


def moving_mean(values: Floats, n: int, first: int, last: int) -> Floats:
    """Return the mean of each value from ``first`` up to ``last`` and the n - 1 before it.

    Where fewer are before it, of those that are.
    """
    begin = max(0, first - n + 1)
    sums = np.convolve(values[begin:last], np.ones(n))[first - begin : last - begin]
    counts = np.minimum(np.arange(first, last) + 1, n)
    return np.asarray(sums / counts)


def _times(samples: Ints, happened: Happenings, sfreq: float) -> Floats:
    """Return the time of every sample, seconds since the first."""
    if not happened.segments:
        return samples / sfreq
    begins = np.array([segment.sample for segment in happened.segments])
    starts_s = np.array([segment.start_s for segment in happened.segments])
    place = np.maximum(0, np.searchsorted(begins, samples, side="right") - 1)
    return np.asarray(starts_s[place] + (samples - begins[place]) / sfreq)


def _fixed(
    session: RecordedSession, stored: TickArrays, ticks: CourseTicks, happened: Happenings
) -> tuple[Settings | None, Ints]:
    """Return the settings of the first round, and the places of the points at them."""
    if not ticks.running.any():
        return None, np.empty(0, dtype=np.int64)
    grid: Grid = grid_for(session.info.sfreq)
    fixed = happened.settings_before(int(ticks.ticks[np.argmax(ticks.running)]))
    met = ticks.clear & ticks.running
    for i, above in enumerate(session.protocol.above):
        n = grid.averaged_ticks(fixed.averaging_s[i])
        column = moving_mean(stored.fast_uv[:, i], n, 0, met.shape[0])
        threshold = fixed.thresholds_uv[i]
        met &= column >= threshold if above else column <= threshold
    times = Times.of(fixed, grid)
    edges = np.diff(ticks.running.astype(np.int8), prepend=0, append=0)
    runs = zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True)
    found = [first + points_of(met[first:last], times) for first, last in runs]
    return fixed, np.concatenate(found).astype(np.int64)


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
