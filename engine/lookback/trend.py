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

Two levels are kept apart, as a mixed model with sessions as its random part does: what changes
from session to session, and what changes from the first round to the last within them, of which
every session gives one number. Where all sessions have as many rounds, both are the estimates of
that model (`tests/published/test_trend_references.py`); the session stays the unit, so that twenty
rounds of two sessions are never taken for twenty sessions.

Sessions are compared only where the same thing was measured: the same protocol, site, reference
and frequencies. Amplitudes are brought to one scale first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engine.chunk import Floats
from engine.lookback.change import Change, level, line
from engine.lookback.sessions_seen import BandSeen, SessionSeen

FEWEST_SESSIONS = 8
"""No verdict on fewer."""

LEAST_CLEAR_S = 60.0
"""A session with less clear training says too little to take part."""

LEAST_ROUND_S = 30.0
"""The same for a round, where rounds of one session are compared."""


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
class BandTrend:
    """One band over sessions.

    Attributes
    ----------
    trained : of the mean of each session's rounds. rest : of the baselines before them.
    within : of what each session changed from its first round to its last, along a line through
        its rounds; its change is the mean of these, its verdict whether it differs from none.
    """

    band: BandSeen
    trained: Trend
    rest: Trend
    within: Trend


@dataclass(frozen=True, eq=False)
class Trends:
    """All trends of comparable sessions.

    Attributes
    ----------
    sessions : that took part, in order, all on the scale of the last.
    left_out : (session's ID, why) of the others.
    bands : in the protocol's order. rate : a clear minute, every session scored at the same
        settings. rating : by the client.
    """

    sessions: tuple[SessionSeen, ...]
    left_out: tuple[tuple[str, str], ...]
    bands: tuple[BandTrend, ...]
    rate: Trend
    rating: Trend

    @property
    def news(self) -> tuple[tuple[str, ...], ...]:
        """What is new in each session against the one before it: settings, and what was told."""
        before = (None, *self.sessions[:-1])
        return tuple(_news(old, new) for old, new in zip(before, self.sessions, strict=True))


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
    bands = last.bands if last is not None else ()
    return Trends(
        sessions=tuple(taken),
        left_out=tuple(left_out),
        bands=tuple(_band(taken, place) for place in range(len(bands))),
        rate=_trend("points a clear minute", "at the same settings", [s.rate for s in taken]),
        rating=_trend("rating", "0-10", [s.rating for s in taken]),
    )


def _why_not(session: SessionSeen, last: SessionSeen | None) -> str:
    """Return why a session does not take part; empty where it does."""
    if last is None or session.clear_s < LEAST_CLEAR_S:
        return f"less than {LEAST_CLEAR_S:g} s of clear training"
    for key in ("protocol", "site", "reference"):
        if getattr(session, key) != getattr(last, key):
            return f"another {key}: {getattr(session, key) or 'none'}"
    if [band.measured for band in session.bands] != [band.measured for band in last.bands]:
        return "other bands"
    return ""


def _band(sessions: Sequence[SessionSeen], place: int) -> BandTrend:
    band = sessions[-1].bands[place]
    unit = f"µV {sessions[-1].scale}"
    seen = [session.bands[place] for session in sessions]
    steps = np.array([_within(session, band.band) for session in sessions])
    return BandTrend(
        band,
        trained=_trend(band.label, unit, [each.mean_uv for each in seen]),
        rest=_trend(f"{band.label} at rest", unit, [each.before_uv for each in seen]),
        within=Trend(
            f"{band.label} within a session",
            unit,
            steps,
            level(steps, np.arange(len(steps)), FEWEST_SESSIONS),
        ),
    )


def _within(session: SessionSeen, band: str) -> float:
    """Return what a session changed from its first round to its last, NaN with fewer than two."""
    rounds = [
        (each.number, dict(each.means_uv)[band])
        for each in session.rounds
        if each.clear_s >= LEAST_ROUND_S and dict(each.means_uv).get(band) is not None
    ]
    if len(rounds) < 2:
        return float("nan")
    numbers, means = np.array(rounds, dtype=np.float64).T
    return float(np.polyfit(numbers, means, 1)[0] * (numbers[-1] - numbers[0]))


def _trend(what: str, unit: str, given: Sequence[float | None]) -> Trend:
    values = np.array([np.nan if value is None else value for value in given], dtype=np.float64)
    return Trend(what, unit, values, line(values, np.arange(len(values)), FEWEST_SESSIONS))


def _news(old: SessionSeen | None, new: SessionSeen) -> tuple[str, ...]:
    told = [words for words in new.told if old is None or words not in old.told]
    if old is None:
        return tuple(told)
    was, labels = dict(old.settings), {band.band: band.label for band in new.bands}
    changed = []
    for key, value in new.settings:
        if key in was and abs(was[key] - value) > 0.005:
            band, _, kind = key.partition(".")
            name = f"{labels.get(band, band)} {kind}" if kind else f"{band} time"
            changed.append(f"{name} {was[key]:.4g} → {value:.4g}")
    if old.estimator != new.estimator:
        changed.append(f"estimator {old.estimator} → {new.estimator}")
    return (*told, *changed)
