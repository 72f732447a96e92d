"""Two levels of a trend, rounds within sessions, against a mixed model of statsmodels.

Source: statsmodels `MixedLM` (restricted maximum likelihood, a random intercept for each session).
With as many rounds in every session, its estimate of what changes from session to session is the
regression of the sessions' means, and that of what changes within them the mean of their slopes
(a balanced design: Searle, Casella & McCulloch, Variance Components, 1992; from memory).
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm

from engine.lookback.trend import trends_of
from tests.engine.lookback.sessions import rounds_of, seen

N_SESSIONS, N_ROUNDS = 15, 5


@pytest.fixture(scope="module")
def means_uv() -> Any:
    rng = np.random.default_rng(11)
    session = np.arange(N_SESSIONS)[:, np.newaxis]
    inside = np.arange(N_ROUNDS) - 2
    day = rng.normal(size=(N_SESSIONS, 1)) * 0.3
    return 4 + 0.08 * session - 0.1 * inside + day + rng.normal(size=(N_SESSIONS, N_ROUNDS)) * 0.2


def test_both_levels_are_those_of_a_mixed_model(means_uv: Any) -> None:
    session = np.repeat(np.arange(N_SESSIONS), N_ROUNDS)
    inside = np.tile(np.arange(N_ROUNDS) - 2.0, N_SESSIONS)
    design = np.column_stack([np.ones(session.size), session, inside])
    model = sm.MixedLM(means_uv.ravel(), design, groups=session).fit(reml=True)
    _, over, within = model.fe_params

    sessions = [
        seen(i, float(row.mean()), rounds=rounds_of(*row.tolist()))
        for i, row in enumerate(means_uv)
    ]
    (band,) = trends_of(sessions).bands
    assert np.nanmean(band.within.values) == pytest.approx(within * (N_ROUNDS - 1), rel=1e-6)
    slope = np.polyfit(np.arange(N_SESSIONS), band.trained.values, 1)[0]
    assert slope == pytest.approx(over, rel=1e-6)
    # ours weighs autocorrelations, and stays within its own uncertainty of the model's
    error = float(model.bse_fe[1])
    assert band.trained.per_session == pytest.approx(over, abs=error)
    low, high = (b / (N_SESSIONS - 1) for b in (band.trained.change.low, band.trained.change.high))
    assert high - low >= 2 * 1.9 * error
    assert low < 0.08 < high
