"""What a recording's samples tell beyond its ticks: spectra, relative power, amplitudes as counted.

Read once, for a report: windows of clear signal in the training and in each baseline, and how
often each amplitude was there while points could be earned.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engine.chunk import Floats
from engine.events import SegmentStart
from engine.lookback.course import Bools, Course, Ints
from engine.lookback.histogram import Histogram, histogram_of
from engine.lookback.relative import Share, relative_power
from engine.lookback.spectra import Spectrum, spectrum_of
from engine.lookback.windows import Windows, joined, windows_of
from engine.plan import plan_for
from engine.session.recorded_ticks import recorded_ticks
from engine.session.recording_reader import RecordedSession
from engine.signal.grid import grid_for

TRAINING = "training"
PERIODS = ("baseline before", TRAINING, "baseline after")


@dataclass(frozen=True, eq=False)
class Period:
    """One of `PERIODS`.

    Attributes
    ----------
    spectrum : of every signal, in the order of `RecordedSignal.signals`.
    relative : of every condition's band on its own signal, in the protocol's order.
    """

    name: str
    spectrum: Spectrum
    relative: tuple[Share, ...]


@dataclass(frozen=True, eq=False)
class RecordedSignal:
    """Signals and what was found in them.

    Attributes
    ----------
    signals : names of the trained ones. periods : those in which something was clear.
    histograms : of every condition's averaged amplitude, µV in the protocol's scale.
    """

    signals: tuple[str, ...]
    periods: tuple[Period, ...]
    histograms: tuple[Histogram, ...]


def recorded_signal(session: RecordedSession, course: Course) -> RecordedSignal:
    """Return what a recording's samples tell; RecordError where they cannot be read."""
    plan = plan_for(session.protocol, session.info.ch_names, session.info.sfreq)
    ticks = recorded_ticks(session)
    samples_uv = _trained(session, plan.montage[: plan.n_trained])
    signals = tuple(plan.signals[: plan.n_trained])
    segments = [event for event in session.events() if isinstance(event, SegmentStart)]
    bounds = [*(segment.sample for segment in segments), samples_uv.shape[0]]
    periods = []
    for name in PERIODS:
        inside = ticks.running if name == TRAINING else _stretch(course, name, ticks.time_s)
        mask = _mask(ticks.samples[ticks.clear & inside], session.info.sfreq, samples_uv)
        parts = [
            windows_of(samples_uv[first:end], mask[first:end], session.info.sfreq, segment.start_s)
            for segment, first, end in zip(segments, bounds[:-1], bounds[1:], strict=True)
        ]
        windows = joined(parts) if parts else None
        if windows is not None and len(windows):
            periods.append(_period(name, windows, course, signals))
    running = ticks.clear & ticks.running
    histograms = tuple(histogram_of(column) for column in ticks.averaged_uv[running].T)
    return RecordedSignal(signals, tuple(periods), histograms)


def _period(name: str, windows: Windows, course: Course, signals: tuple[str, ...]) -> Period:
    site = course.protocol.site
    shares = tuple(
        relative_power(windows, (c.low_hz, c.high_hz), signal=signals.index(c.channel or site))
        for c in course.conditions
    )
    return Period(name, spectrum_of(windows), shares)


def _trained(session: RecordedSession, montage: Floats) -> Floats:
    """Return the trained signals, (n_samples, n_signals), µV, as derived for the filters."""
    used = np.flatnonzero(montage.any(axis=0))
    weights = montage[:, used].T
    pieces = [chunk.samples_uv[:, used] @ weights for chunk in session.chunks()]
    return np.concatenate([np.empty((0, montage.shape[0])), *pieces])


def _stretch(course: Course, what: str, time_s: Floats) -> Bools:
    """Return the ticks of the last baseline of this name that has any."""
    rows = course.stretch_rows(what)
    if not len(rows):
        return np.zeros(time_s.shape, dtype=bool)
    found = course.stretches[int(rows.stretch[0]) - 1]
    return np.asarray((time_s > found.start_s) & (time_s <= found.stop_s))


def _mask(last_samples: Ints, sfreq: float, samples_uv: Floats) -> Bools:
    """Return which samples belong to ticks that end at ``last_samples``, and are there."""
    mask = np.zeros(samples_uv.shape[0], dtype=bool)
    block = grid_for(sfreq).block
    mask[(last_samples[:, np.newaxis] - np.arange(block)).clip(0)] = True
    return np.asarray(mask & np.isfinite(samples_uv).all(axis=1))
