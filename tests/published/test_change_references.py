"""The regressions of the look back against statsmodels' own, on the same numbers."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm

from engine.lookback import change
from engine.lookback.change import PAIRS, coefficient
from tests.benchmarks.study_change import newey_west, noise


def example(n: int = 60, seed: int = 3) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return values, places with gaps between rounds, and a design of level, line and muscle."""
    rng = np.random.default_rng(seed)
    index = np.arange(n) + 3 * (np.arange(n) // 18)
    design = np.column_stack([np.ones(n), np.arange(n) / n, rng.standard_normal(n)])
    values = 4 + design @ [0.0, 0.4, 0.1] + 0.3 * noise(rng, n, 0.5, 0.5)
    return values, index, design


@pytest.mark.parametrize("place", [0, 1, 2])
def test_at_known_errors_it_is_statsmodels_generalised_least_squares(place: int) -> None:
    values, index, design = example()
    ours = coefficient(values, index, design, place)
    apart = np.abs(index[:, np.newaxis] - index)
    for number, (rho, white) in enumerate(PAIRS):
        slow = np.sign(rho) ** apart * np.abs(rho) ** apart
        theirs = sm.GLS(values, design, (1 - white) * slow + white * np.eye(len(index))).fit()
        assert ours.means[number] == pytest.approx(theirs.params[place], rel=1e-8)
        assert ours.errors[number] == pytest.approx(theirs.bse[place], rel=1e-8)


def test_with_one_pair_the_interval_is_statsmodels(monkeypatch: pytest.MonkeyPatch) -> None:
    values, index, design = example()
    known = coefficient(values, index, design, 1)
    place = PAIRS.index((0.4, 0.0))
    alone = np.zeros(len(PAIRS))
    alone[place] = 1.0
    single = change.Mixture(known.means, known.errors, alone, known.df)
    apart = np.abs(index[:, np.newaxis] - index)
    theirs = sm.GLS(values, design, 0.4**apart).fit()
    assert single.interval() == pytest.approx(tuple(theirs.conf_int()[1]), rel=1e-6)
    assert 2 * min(single.below(0), 1 - single.below(0)) == pytest.approx(theirs.pvalues[1])


def test_the_restricted_likelihood_is_that_of_the_residuals_contrasts() -> None:
    """Its definition: the density of any full set of error contrasts (Harville 1974)."""
    values, index, design = example(24)
    known = coefficient(values, index, design, 1)
    n, k = design.shape
    contrasts = np.linalg.svd(design)[0][:, k:]
    apart = np.abs(index[:, np.newaxis] - index)
    logs = []
    for rho, white in PAIRS:
        slow = np.sign(rho) ** apart * np.abs(rho) ** apart
        inside = contrasts.T @ ((1 - white) * slow + white * np.eye(n)) @ contrasts
        y = contrasts.T @ values
        squares = y @ np.linalg.solve(inside, y)
        logs.append(-0.5 * (np.linalg.slogdet(inside)[1] + (n - k) * np.log(squares)))
    weights = np.exp(np.array(logs) - max(logs)) * change._PRIOR
    np.testing.assert_allclose(known.weights, weights / weights.sum(), rtol=1e-6, atol=1e-12)


def test_the_studys_newey_west_is_statsmodels() -> None:
    rng = np.random.default_rng(8)
    disagreements = 0
    for _ in range(40):
        values = noise(rng, 72, 0.6, 0.0)
        design = np.column_stack([np.ones(72), np.arange(72) - 35.5])
        lags = int(np.ceil(1.3 * np.sqrt(72)))
        theirs = sm.OLS(values, design).fit(
            cov_type="HAC", cov_kwds={"maxlags": lags - 1, "use_correction": False}
        )
        share = lags / 72
        limit = 1.96 + 2.9694 * share + 0.4160 * share**2 - 0.5324 * share**3
        disagreements += newey_west(values, design) != (abs(theirs.tvalues[1]) > limit)
    assert disagreements == 0


def test_the_autocorrelation_is_near_what_glsar_iterates_to() -> None:
    rng = np.random.default_rng(5)
    values, index = noise(rng, 400, 0.6, 0.0), np.arange(400)
    design = np.column_stack([np.ones(400), index / 400])
    model = sm.GLSAR(values, design, rho=1)
    theirs = model.iterative_fit(maxiter=20)
    ours = coefficient(values, index, design, 1)
    assert ours.rho == pytest.approx(float(model.rho[0]), abs=0.05)
    assert ours.mean == pytest.approx(theirs.params[1], abs=0.1)


def test_a_trend_over_sessions_is_statsmodels_line_where_sessions_are_independent(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The pair without autocorrelation, alone: ordinary least squares and its t interval."""
    values = 4 + 0.1 * np.arange(12) + 0.2 * np.random.default_rng(9).standard_normal(12)
    alone = np.where([pair == (0.0, 0.0) for pair in PAIRS], 1.0, 1e-300)
    monkeypatch.setattr(change, "_PRIOR", alone)
    ours = change.line(values, np.arange(12), 8)
    theirs = sm.OLS(values, sm.add_constant(np.arange(12) / 11)).fit()
    assert ours.change == pytest.approx(theirs.params[1], rel=1e-9)
    assert (ours.low, ours.high) == pytest.approx(tuple(theirs.conf_int()[1]), rel=1e-6)
    assert ours.p == pytest.approx(theirs.pvalues[1], rel=1e-6)
    assert ours.level_at_start == pytest.approx(theirs.params[0], rel=1e-9)


def test_a_trend_over_sessions_is_less_sure_than_ordinary_least_squares() -> None:
    """What is not known of the autocorrelation makes the interval wider, on average."""
    rng = np.random.default_rng(10)
    wider = []
    for _ in range(30):
        values = rng.standard_normal(12)
        ours = change.line(values, np.arange(12), 8)
        low, high = sm.OLS(values, sm.add_constant(np.arange(12) / 11)).fit().conf_int()[1]
        wider.append((ours.high - ours.low) / (high - low))
    assert 1.1 < np.mean(wider) < 2.0
