"""Every tick of a recording as the criterion saw it: averaged, met or not, clear or not, timed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engine.chunk import Floats
from engine.events import SettingChanged, State
from engine.lookback.course import Bools, Ints
from engine.lookback.happenings import Happenings
from engine.session.recording_reader import RecordedSession, TickArrays
from engine.settings import Settings
from engine.signal.grid import grid_for

_STOPPED = list(State).index(State.STOPPED)


@dataclass(frozen=True, eq=False)
class CourseTicks:
    """Every tick of a recording, as the criterion saw it.

    Attributes
    ----------
    ticks, samples : (n_ticks,), as in `TickArrays`. time_s : (n_ticks,), of the tick's last sample.
    fast_uv : (n_ticks, n_conditions), before any averaging.
    averaged_uv : the same, by the averaging of the moment; right wherever clear.
    met : (n_ticks, n_conditions), at the thresholds of the moment.
    clear : (n_ticks,). running : (n_ticks,), in a round and nothing held off.
    """

    ticks: Ints
    samples: Ints
    time_s: Floats
    fast_uv: Floats
    averaged_uv: Floats
    met: Bools
    clear: Bools
    running: Bools


def recorded_ticks(session: RecordedSession) -> CourseTicks:
    """Return every tick of a recording, as the criterion saw it."""
    happened = Happenings(session.protocol, session.info.sfreq)
    for event in session.events():
        happened.hear(event)
    return ticks_seen(session, session.tick_arrays(), happened)


def ticks_seen(session: RecordedSession, stored: TickArrays, happened: Happenings) -> CourseTicks:
    """Return them, of what was read already."""
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
        fast_uv=stored.fast_uv,
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
