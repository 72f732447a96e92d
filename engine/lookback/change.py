"""Whether something rose or fell over a session, with an interval that respects autocorrelation.

EEG minutes are not independent of each other, and the slope of an ordinary regression finds
trends in noise. Here clear training time is cut into blocks, and a straight line is fitted whose
errors are an AR(1) process, each rho times that of the block before and what is new in it, with
white noise on top. At a given rho and share of white noise that is generalised least
squares. Since neither is known, and rho is guessed too low from few blocks, nothing is staked on
one pair: the restricted likelihood (Patterson & Thompson 1971) weighs a grid of them, and the
interval is that of the mixture of t distributions which comes of it.

Chosen by its false alarms on noise without a trend (tests/benchmarks/study_change.py, the table is
there): 3-7 % at nominal 5 % where the autocorrelation of 60 to 108 blocks is 0 to 0.8. Beyond it,
and where slow drift hides under white noise, there are more, and the table says how many. Blocks
of 10 s of band amplitude at rest have an autocorrelation of -0.1 to 0.2.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy import optimize, special

from engine.chunk import Floats
from engine.lookback.course import Ints

BLOCK_S = 10.0
MOST_BLOCKS = 120
"""Where there would be more, blocks are made longer, by whole multiples of `BLOCK_S`."""

FEWEST_BLOCKS = 60
"""No verdict on fewer: ten minutes of clear training."""

FEWEST_PER_SIDE = 12
"""No verdict on two stretches of which one has fewer blocks: two clear minutes."""

FEWEST_EFFECTIVE = 6.0
"""No verdict where the blocks are worth fewer independent ones."""

LEVEL = 0.95
RHOS = np.array([-0.3, -0.2, -0.1, 0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98])
WHITES = (0.0, 0.4, 0.7)
"""Shares of the variance that are white noise."""

_PRIOR = np.outer((0.65, 0.2, 0.15), np.gradient(RHOS)).ravel()
"""Before the data: every rho alike, and noise the less likely the more of it is white."""

PAIRS = tuple((rho, white) for white in WHITES for rho in RHOS.tolist())

RISE, FALL, NO_CHANGE, TOO_FEW = "rise", "fall", "no clear change", "too few"


@dataclass(frozen=True)
class Change:
    """How much something changed.

    Attributes
    ----------
    change, low, high : end minus start, or after minus before, with its 95 % interval; NaN where
        nothing can be fitted. level_at_start : what it changed from.
    p : two-sided probability of as much by chance.
    n_blocks, n_effective : blocks, and how many independent ones they are worth.
    rho : autocorrelation of neighbouring blocks, once the line is taken out.
    span_s : from the first block to the last; 0 for a comparison.
    verdict : one of ``RISE``, ``FALL``, ``NO_CHANGE``, ``TOO_FEW``.
    """

    change: float
    low: float
    high: float
    level_at_start: float
    p: float
    n_blocks: int
    n_effective: float
    rho: float
    span_s: float
    verdict: str

    @property
    def per_minute(self) -> float:
        """The slope; NaN for a comparison."""
        return self.change / (self.span_s / 60) if self.span_s else float("nan")


@dataclass(frozen=True, eq=False)
class Mixture:
    """What is known of one coefficient: a t distribution at each of `PAIRS`, and its weight."""

    means: Floats
    errors: Floats
    weights: Floats
    df: int

    @property
    def mean(self) -> float:
        return float(self.weights @ self.means)

    @property
    def rho(self) -> float:
        """Return the autocorrelation of neighbours, white noise included."""
        return float(self.weights @ [rho * (1 - white) for rho, white in PAIRS])

    @property
    def worth(self) -> float:
        """Return how many independent blocks one block is worth, at most 1."""
        each = [1 / (white + (1 - white) * (1 + rho) / (1 - rho)) for rho, white in PAIRS]
        return float(self.weights @ np.minimum(each, 1.0))

    def below(self, value: float) -> float:
        """Return the probability that the coefficient is below a value."""
        return float(self.weights @ special.stdtr(self.df, (value - self.means) / self.errors))

    def interval(self, level: float = LEVEL) -> tuple[float, float]:
        """Return the interval that leaves out as much on either side."""
        tail = (1 - level) / 2
        reach = float(-special.stdtrit(self.df, tail)) * 1.01
        bounds = [self.means + side * reach * self.errors for side in (-1, 1)]

        def find(share: float) -> float:
            low, high = float(bounds[0].min()), float(bounds[1].max())
            root: float = optimize.brentq(lambda v: self.below(v) - share, low, high)
            return root

        return find(tail), find(1 - tail)


def coefficient(values: Floats, index: Ints, design: Floats, place: int) -> Mixture:
    """Return what the blocks say of one coefficient of a regression.

    Parameters
    ----------
    values : (n_blocks,). index : (n_blocks,), ascending; neighbours differ by 1.
    design : (n_blocks, n_columns), of full rank. place : the column that is asked for.
    """
    n, k = design.shape
    whitener, half_logs = whiteners(np.asarray(index, dtype=np.int64).tobytes())
    white = whitener @ np.column_stack([design, values])
    x, y = white[:, :, :k], white[:, :, k]
    crossed = x.transpose(0, 2, 1) @ x
    inverse = np.linalg.inv(crossed)
    fitted = np.einsum("pij,pnj,pn->pi", inverse, x, y)
    left = y - np.einsum("pnj,pj->pn", x, fitted)
    squares = np.maximum(np.square(left).sum(axis=1), 1e-300)
    likelihoods = -half_logs - 0.5 * (np.linalg.slogdet(crossed)[1] + (n - k) * np.log(squares))
    weights = np.exp(likelihoods - likelihoods.max()) * _PRIOR
    errors = np.sqrt(np.maximum(inverse[:, place, place] * squares / (n - k), 1e-300))
    return Mixture(fitted[:, place], errors, weights / weights.sum(), n - k)


@lru_cache(maxsize=8)
def whiteners(index: bytes) -> tuple[Floats, Floats]:
    """Return for each of `PAIRS` what makes the errors of blocks independent.

    Parameters
    ----------
    index : (n_blocks,) of int64, as bytes.

    Returns
    -------
    whitener : (n_pairs, n_blocks, n_blocks), to multiply with.
    half_logs : (n_pairs,), half of the log determinant of the covariance.
    """
    places = np.frombuffer(index, np.int64)
    apart = np.abs(places[:, np.newaxis] - places)
    slow = np.stack([np.sign(rho) ** apart * np.abs(rho) ** apart for rho in RHOS.tolist()])
    each = [(1 - white) * slow + white * np.eye(places.shape[0]) for white in WHITES]
    roots = np.linalg.cholesky(np.concatenate(each))
    half_logs = np.log(np.diagonal(roots, axis1=1, axis2=2)).sum(axis=1)
    return np.asarray(np.linalg.inv(roots), dtype=np.float64), half_logs


def trend(values: Floats, index: Ints, block_s: float = BLOCK_S, *covariates: Floats) -> Change:
    """Return how much blocks rose from the first to the last, along a straight line.

    Parameters
    ----------
    values : (n_blocks,). index : (n_blocks,), whole blocks of time since any moment, ascending.
    covariates : (n_blocks,) each: what goes along with them is taken out of the change.
    """
    return line(values, index, FEWEST_BLOCKS, *covariates, step_s=block_s, least=FEWEST_EFFECTIVE)


def line(
    values: Floats,
    index: Ints,
    fewest: int,
    *covariates: Floats,
    step_s: float = 0.0,
    least: float = 0.0,
) -> Change:
    """Return how much values at any whole places rose along a straight line, as `trend` does.

    Parameters
    ----------
    fewest : no verdict on fewer values, nor where they are worth fewer than ``least`` of them.
    step_s : time from one place to the next, 0 where places are no times.
    """
    kept = np.isfinite(np.column_stack([values, *covariates])).all(axis=1)
    values, index = values[kept], index[kept]
    n = values.shape[0]
    if n < 4 + len(covariates):
        return _nothing(n)
    moving = [c[kept] - c[kept].mean() for c in covariates]
    span = float(index[-1] - index[0])
    along = (index - index[0]) / span
    design = np.column_stack([np.ones(n), along, *moving])
    if np.linalg.matrix_rank(design) < design.shape[1]:
        return _nothing(n)
    known = coefficient(values, index, design, 1)
    starts = coefficient(values, index, design, 0).mean
    return _change(known, starts, n, span * step_s, n >= fewest, least)


def level(values: Floats, index: Ints, fewest: int) -> Change:
    """Return how far values lie from zero as a whole: the change is their mean.

    Parameters
    ----------
    values, index : (n,), as in `line`. fewest : no verdict on fewer values.
    """
    kept = np.isfinite(values)
    values, index = values[kept], index[kept]
    n = values.shape[0]
    if n < 3:
        return _nothing(n)
    known = coefficient(values, index, np.ones((n, 1)), 0)
    return _change(known, 0.0, n, 0.0, n >= fewest, 0.0)


def compare(before: Floats, after: Floats) -> Change:
    """Return how much the blocks after differ from those before, (n_before,) and (n_after,).

    The two stretches lie so far apart that nothing of the one lasts into the other.
    """
    before, after = before[np.isfinite(before)], after[np.isfinite(after)]
    n_before, n_after = before.shape[0], after.shape[0]
    n = n_before + n_after
    if min(n_before, n_after) < 2 or n < 5:
        return _nothing(n)
    index = np.concatenate([np.arange(n_before), 1000 + n_before + np.arange(n_after)])
    step = (np.arange(n) >= n_before).astype(np.float64)
    design = np.column_stack([np.ones(n), step])
    known = coefficient(np.concatenate([before, after]), index, design, 1)
    enough = min(n_before, n_after) >= FEWEST_PER_SIDE
    return _change(known, float(before.mean()), n, 0.0, enough, FEWEST_EFFECTIVE)


def _change(
    known: Mixture, start: float, n: int, span_s: float, enough: bool, least: float
) -> Change:
    low, high = known.interval()
    effective = n * known.worth
    chance = known.below(0.0)
    verdict = RISE if low > 0 else FALL if high < 0 else NO_CHANGE
    if not enough or effective < least:
        verdict = TOO_FEW
    return Change(
        change=known.mean,
        low=low,
        high=high,
        level_at_start=start,
        p=2 * min(chance, 1 - chance),
        n_blocks=n,
        n_effective=effective,
        rho=known.rho,
        span_s=span_s,
        verdict=verdict,
    )


def _nothing(n: int) -> Change:
    nan = float("nan")
    return Change(nan, nan, nan, nan, nan, n, 0.0, nan, 0.0, TOO_FEW)
