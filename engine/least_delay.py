"""The least delay of the filters at which the points still agree with the truth well enough.

The truth is what a look from both sides says of the last clear minutes: zero-phase envelopes
under the same averaging, centred. Thresholds are set anew for each, so that every band is met as
often as it is live; what differs is then the moment alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy import signal

from engine.chunk import Floats
from engine.plan import Plan
from engine.reward.agreement import agreement
from engine.reward.criterion import Times
from engine.reward.recent import moving_means
from engine.reward.scan import points_of
from engine.settings import Settings
from engine.signal.amplitude import AnalyticFir
from engine.signal.design import BandGoal

DELAYS_S = (0.08, 0.1, 0.12, 0.14, 0.16, 0.18, 0.2, 0.22, 0.25, 0.3)
LEAST_PIECE_S = 8.0
_ORDER = 4


@dataclass(frozen=True)
class Choice:
    """``agreed`` is the share of true points found at ``delay_s``.

    ``delay_s`` is None where no delay agrees well enough; ``agreed`` is then the best share.
    """

    delay_s: float | None
    agreed: float


def with_delay(goals: tuple[BandGoal, ...], delay_s: float) -> tuple[BandGoal, ...]:
    """Return the same bands at another delay."""
    return tuple(replace(goal, delay_s=delay_s) for goal in goals)


def least_delay(
    plan: Plan,
    settings: Settings,
    pieces: list[Floats],
    estimators: dict[float, AnalyticFir],
    wanted: float,
) -> Choice | None:
    """Return the least delay that finds the ``wanted`` share of the true points.

    Parameters
    ----------
    pieces : unbroken clear stretches, each (n_samples, n_trained) at the decimated rate.
    estimators : one a delay, to be tried from the shortest on.

    Returns
    -------
    The choice; None without a stretch of 8 s.
    """
    long_enough = LEAST_PIECE_S * plan.sfreq_decimated
    pieces = [piece for piece in pieces if piece.shape[0] >= long_enough]
    if not pieces:
        return None
    skip = plan.estimator.memory_ticks
    true = [_truth(plan, settings, piece)[skip:] for piece in pieces]
    shares = _shares(plan, settings, true)
    wanted_onsets = _onsets(plan, settings, true, shares)
    best = 0.0
    for delay_s in sorted(estimators):
        given = [_live(plan, settings, piece, estimators[delay_s])[skip:] for piece in pieces]
        found = agreement(_onsets(plan, settings, given, shares), wanted_onsets).found
        if found >= wanted:
            return Choice(delay_s, found)
        best = max(best, found)
    return Choice(None, best)


def _live(plan: Plan, settings: Settings, piece: Floats, estimator: AnalyticFir) -> Floats:
    """Return the averaged amplitudes at ticks, (n_ticks, n_conditions), as they would be live."""
    columns = []
    for band, place in plan.places:
        analytic = signal.fftconvolve(piece[:, place], estimator.taps[band])[: piece.shape[0]]
        columns.append(np.abs(analytic))
    return moving_means(_at_ticks(plan, columns), _counts(plan, settings))


def _truth(plan: Plan, settings: Settings, piece: Floats) -> Floats:
    """Return the same from both sides."""
    columns = []
    for (_, place), c in zip(plan.places, plan.protocol.conditions, strict=True):
        edges = [c.low_hz, c.high_hz]
        sos = signal.butter(_ORDER, edges, "bandpass", fs=plan.sfreq_decimated, output="sos")
        columns.append(np.abs(signal.hilbert(signal.sosfiltfilt(sos, piece[:, place]))))
    counts = _counts(plan, settings)
    means = moving_means(_at_ticks(plan, columns), counts)
    for i, n in enumerate(counts):
        half = (n - 1) // 2
        means[:, i] = np.concatenate([means[half:, i], np.full(half, np.nan)])
    return means


def _at_ticks(plan: Plan, columns: list[Floats]) -> Floats:
    """Return (n_ticks, n_columns) of columns at the decimated rate."""
    return np.stack(columns, axis=1)[plan.grid.per_tick - 1 :: plan.grid.per_tick]


def _counts(plan: Plan, settings: Settings) -> tuple[int, ...]:
    return tuple(plan.grid.averaged_ticks(s) for s in settings.averaging_s)


def _shares(plan: Plan, settings: Settings, pieces: list[Floats]) -> list[float]:
    """Return the share of time in which each condition is met."""
    together = np.concatenate(pieces)
    known = together[~np.isnan(together).any(axis=1)] * plan.scale_factor
    met = known <= np.array(settings.thresholds_uv)
    below = met.mean(axis=0).tolist()
    return [1 - b if up else b for b, up in zip(below, plan.protocol.above, strict=True)]


def _onsets(plan: Plan, settings: Settings, pieces: list[Floats], shares: list[float]) -> Floats:
    """Return the onsets of points, seconds, with each condition met for its share of the time.

    Pieces stand 10 s apart, so that none meets another's points.
    """
    together = np.concatenate(pieces)
    above = plan.protocol.above
    thresholds = [
        np.nanquantile(together[:, i], 1 - share if up else share)
        for i, (share, up) in enumerate(zip(shares, above, strict=True))
    ]
    times = Times.of(settings, plan.grid)
    onsets: list[float] = []
    start_s = 0.0
    for piece in pieces:
        met = np.where(above, piece >= thresholds, piece <= thresholds)
        together_met = np.logical_and.reduce(met, axis=1)
        onsets += (start_s + points_of(together_met, times) * plan.tick_s).tolist()
        start_s += piece.shape[0] * plan.tick_s + 10.0
    return np.array(onsets)
