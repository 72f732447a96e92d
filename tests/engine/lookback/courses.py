"""Courses made by hand, of which every number is known."""

from __future__ import annotations

import numpy as np

from engine.events import Entry, SettingChanged
from engine.lookback.course import Course, Round, Rows, Stretch, settled
from engine.protocol import Condition, Protocol

PROTOCOL = Protocol(
    slug="smr-up-c4",
    name="SMR up at C4",
    site="C4",
    reference="A1",
    ground="A2",
    eyes="open",
    scale="peak",
    estimator="analytic-fir",
    delay_s=0.2,
    hold_s=0.5,
    quiet_s=1.0,
    zone=(10.0, 15.0),
    conditions=(
        Condition("theta", "theta", 4.0, 8.0, "below", 9.0, 0.24, 0.2),
        Condition("smr", "SMR", 12.0, 15.0, "above", 4.0, 0.24, 0.1),
        Condition("high_beta", "high beta", 20.0, 30.0, "below", 6.0, 0.24, 0.2),
    ),
)
TICKS = 50
"""A second."""


def nudged(time_s: float, key: str, old: float, new: float, by: str = "AB") -> SettingChanged:
    """Return a change at a time."""
    tick = round(time_s * TICKS)
    return SettingChanged(tick, tick * 5, time_s, key, old, new, by, "key")


def made_course(
    mean_uv: np.ndarray,
    *,
    clear: np.ndarray | None = None,
    points: np.ndarray | None = None,
    fixed_points: np.ndarray | None = None,
    rounds: tuple[tuple[float, float], ...] | None = None,
    baselines: tuple[tuple[str, float, float], ...] = (),
    changes: tuple[SettingChanged, ...] = (),
    entries: tuple[Entry, ...] = (),
    protocol: Protocol = PROTOCOL,
) -> Course:
    """Return a course of one row a second.

    Parameters
    ----------
    mean_uv : (n_seconds, n_conditions). clear : (n_seconds,), share, all by default.
    points, fixed_points : (n_seconds,). rounds : (start, stop) each, by default one of it all.
    """
    n = mean_uv.shape[0]
    rounds = ((0.0, float(n)),) if rounds is None else rounds
    time_s = np.arange(n, dtype=np.float64)
    in_round, stretch = np.zeros(n, dtype=np.int64), np.zeros(n, dtype=np.int64)
    for place, (start, stop) in enumerate(rounds, start=1):
        in_round[(time_s >= start) & (time_s < stop)] = place
    for place, (_, start, stop) in enumerate(baselines, start=1):
        stretch[(time_s >= start) & (time_s < stop)] = place
    share = np.ones(n) if clear is None else clear
    n_clear = np.round(share * TICKS).astype(np.int64)
    none = n_clear[:, np.newaxis] == 0
    start_settings = protocol.settings
    thresholds = np.array(
        [
            settled(start_settings, [c for c in changes if c.onset_s <= t]).thresholds_uv
            for t in time_s.tolist()
        ]
    ).reshape(n, -1)
    met = np.where(protocol.above, mean_uv >= thresholds, mean_uv <= thresholds).astype(float)
    earned = np.zeros(n, dtype=np.int64) if points is None else points
    would = earned if fixed_points is None else fixed_points
    first_s = rounds[0][0] if rounds else 0.0
    return Course(
        id="20261126-090000-smr-up-c4",
        protocol=protocol,
        sfreq=250.0,
        tick_s=1 / TICKS,
        began_utc=None,
        ended="operator",
        rows=Rows(
            time_s=time_s,
            n_ticks=np.full(n, TICKS, dtype=np.int64),
            n_clear=n_clear,
            round=in_round,
            stretch=stretch,
            mean_uv=np.where(none, np.nan, mean_uv),
            met_share=np.where(none, np.nan, met),
            points=earned,
            fixed_points=would,
        ),
        spans=(),
        rounds=tuple(
            Round(place, start, stop, "length") for place, (start, stop) in enumerate(rounds, 1)
        ),
        stretches=tuple(Stretch(what, start, stop, "length") for what, start, stop in baselines),
        points_s=np.repeat(time_s, earned),
        fixed_points_s=np.repeat(time_s, would),
        start=start_settings,
        fixed=settled(start_settings, [c for c in changes if c.onset_s < first_s]),
        changes=changes,
        limits=(),
        estimators=(),
        entries=entries,
        notes=(),
    )
