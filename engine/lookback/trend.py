"""Whether something rose or fell over a client's sessions of one protocol.

One value a session, in the order of the sessions, and a straight line through them. How far a
session resembles the one before it cannot be told from a dozen of them, so the line is that of
`engine.lookback.change`: its interval is a mixture of t distributions over all that the
autocorrelation may be. Ordinary least squares, which assumes none, would find trends in noise.

False alarms at nominal 5 %, and how many rises of three standard deviations from the first session
to the last are found, in per cent (`tests/benchmarks/study_trend.py`, 600 runs each; ordinary
least squares in brackets):

    sessions   autocorrelation 0   0.2          0.4          0.6          found at 0
           8   1.8 (5.5)           2.0 (7.0)    5.8 (16.8)   7.2 (20.3)   32.5 (66.7)
          12   0.3 (4.8)           2.0 (10.7)   3.8 (18.7)   8.8 (28.3)   50.2 (84.0)
          20   1.7 (4.5)           2.5 (9.7)    3.2 (15.7)   4.8 (31.5)   82.2 (96.7)
          30   1.3 (3.5)           4.0 (11.5)   4.5 (18.2)   4.8 (29.7)   98.5 (100)

Sessions are compared only where the same thing was measured: the same protocol, site, reference
and frequencies. Amplitudes are brought to one scale first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from engine.chunk import Floats
from engine.lookback.change import Change, line
from engine.protocol import SCALES

FEWEST_SESSIONS = 8
"""No verdict on fewer."""

LEAST_CLEAR_S = 60.0
"""A session with less clear training says too little to take part."""


@dataclass(frozen=True)
class BandSeen:
    """One band of one session. Amplitudes in the session's scale, None where nothing was clear."""

    band: str
    label: str
    low_hz: float
    high_hz: float
    channel: str
    mean_uv: float | None
    before_uv: float | None = None
    after_uv: float | None = None


@dataclass(frozen=True)
class SessionSeen:
    """What the trend needs of one session.

    Attributes
    ----------
    began_utc : ISO 8601, sessions are ordered by it. protocol, site, reference : as recorded.
    scale : of all its amplitudes, one of `engine.protocol.SCALES`.
    rate : points a clear minute at settings that were the same for every session, None if unknown.
    rating : by the client, None where not asked.
    """

    id: str
    began_utc: str
    protocol: str
    site: str
    reference: str
    scale: str
    clear_s: float
    bands: tuple[BandSeen, ...]
    rate: float | None = None
    rating: int | None = None

    def on(self, scale: str) -> SessionSeen:
        """Return the same session with its amplitudes on another scale."""
        factor = SCALES[scale] / SCALES[self.scale]

        def times(value: float | None) -> float | None:
            return None if value is None else value * factor

        bands = tuple(
            replace(
                band,
                mean_uv=times(band.mean_uv),
                before_uv=times(band.before_uv),
                after_uv=times(band.after_uv),
            )
            for band in self.bands
        )
        return replace(self, scale=scale, bands=bands)


@dataclass(frozen=True, eq=False)
class Trend:
    """One quantity over sessions.

    Attributes
    ----------
    what, unit : as a reader is told. values : (n_sessions,), NaN where a session has none.
    change : from the first session to the last, with its 95 % interval and verdict.
    """

    what: str
    unit: str
    values: Floats
    change: Change

    @property
    def per_session(self) -> float:
        """The slope; NaN where no line was fitted."""
        known = np.flatnonzero(np.isfinite(self.values))
        apart = int(known[-1] - known[0]) if known.shape[0] else 0
        return self.change.change / apart if apart else float("nan")


@dataclass(frozen=True, eq=False)
class Trends:
    """All trends of comparable sessions.

    Attributes
    ----------
    sessions : that took part, in order, all on the scale of the last.
    left_out : (session's ID, why) of the others. trends : of bands, rate and rating.
    """

    sessions: tuple[SessionSeen, ...]
    left_out: tuple[tuple[str, str], ...]
    trends: tuple[Trend, ...]


def trends_of(given: Sequence[SessionSeen]) -> Trends:
    """Return the trends over sessions of one client.

    What the last session with enough clear signal measured decides which others are comparable.
    """
    ordered = sorted(given, key=lambda session: (session.began_utc, session.id))
    last = next((s for s in reversed(ordered) if s.clear_s >= LEAST_CLEAR_S), None)
    taken: list[SessionSeen] = []
    left_out = []
    for session in ordered:
        why = _why_not(session, last)
        if why or last is None:
            left_out.append((session.id, why))
        else:
            taken.append(session.on(last.scale))
    if last is None:
        return Trends((), tuple(left_out), ())
    trends = [
        _trend(band.label, f"µV {last.scale}", [session.bands[place].mean_uv for session in taken])
        for place, band in enumerate(last.bands)
    ]
    trends += [
        _trend("points a clear minute", "at the same settings", [s.rate for s in taken]),
        _trend("rating", "0-10", [s.rating for s in taken]),
    ]
    return Trends(tuple(taken), tuple(left_out), tuple(trends))


def _why_not(session: SessionSeen, last: SessionSeen | None) -> str:
    """Return why a session does not take part; empty where it does."""
    if last is None or session.clear_s < LEAST_CLEAR_S:
        return f"less than {LEAST_CLEAR_S:g} s of clear training"
    for key in ("protocol", "site", "reference"):
        if getattr(session, key) != getattr(last, key):
            return f"another {key}: {getattr(session, key) or 'none'}"
    if [_measured(band) for band in session.bands] != [_measured(band) for band in last.bands]:
        return "other bands"
    return ""


def _measured(band: BandSeen) -> tuple[str, float, float, str]:
    return band.band, band.low_hz, band.high_hz, band.channel


def _trend(what: str, unit: str, given: Sequence[float | None]) -> Trend:
    values = np.array([np.nan if value is None else value for value in given], dtype=np.float64)
    return Trend(what, unit, values, line(values, np.arange(len(values)), FEWEST_SESSIONS))
