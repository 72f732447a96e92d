"""Trends over sessions: like is compared with like, and nothing is said on too few."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from engine.lookback.change import FALL, NO_CHANGE, RISE, TOO_FEW
from engine.lookback.trend import FEWEST_SESSIONS, BandSeen, SessionSeen, Trend, trends_of
from engine.protocol import SCALES

SMR = BandSeen("smr", "SMR", 12.0, 15.0, "C4", 4.0, 3.9, 4.1)


def seen(number: int, smr_uv: float | None = 4.0, **given: Any) -> SessionSeen:
    values: dict[str, Any] = {
        "id": f"session {number}",
        "began_utc": f"2026-10-{number + 1:02d}T09:00:00+00:00",
        "protocol": "smr-up-c4",
        "site": "C4",
        "reference": "A2",
        "scale": "peak",
        "clear_s": 900.0,
        "bands": (replace(SMR, mean_uv=smr_uv),),
    }
    return SessionSeen(**(values | given))


def smr_of(*sessions: SessionSeen) -> Trend:
    return trends_of(sessions).trends[0]


def rising(n: int, per_session: float = 0.2) -> list[SessionSeen]:
    noise = np.random.default_rng(4).normal(size=n) * 0.1
    return [seen(i, 4.0 + per_session * i + noise[i]) for i in range(n)]


@pytest.mark.parametrize(("slope", "verdict"), [(0.2, RISE), (-0.2, FALL), (0.0, NO_CHANGE)])
def test_a_trend_is_found_where_it_is(slope: float, verdict: str) -> None:
    found = smr_of(*rising(12, slope))
    assert found.change.verdict == verdict
    assert found.change.low < slope * 11 < found.change.high
    assert found.per_session == pytest.approx(slope, abs=0.03)


def test_too_few_sessions_have_no_verdict_however_steep() -> None:
    assert smr_of(*rising(FEWEST_SESSIONS - 1, 2.0)).change.verdict == TOO_FEW
    assert smr_of(*rising(FEWEST_SESSIONS, 2.0)).change.verdict == RISE
    assert smr_of(seen(0)).change.verdict == TOO_FEW
    assert trends_of([]).trends == ()


@pytest.mark.parametrize("scale", sorted(SCALES))
def test_mixed_scales_are_one_scale_before_anything_is_fitted(scale: str) -> None:
    """Twelve sessions alike in truth, of which half were recorded on another scale."""
    alike = [seen(i, 4.0 + 0.1 * (-1) ** i) for i in range(12)]
    mixed = alike[:6] + [session.on(scale) for session in alike[6:]]
    found = smr_of(*mixed)
    assert found.change.verdict == NO_CHANGE
    assert found.unit == f"µV {scale}"
    expected = [(4.0 + 0.1 * (-1) ** i) * SCALES[scale] for i in range(12)]
    np.testing.assert_allclose(found.values, expected)


def test_sessions_are_in_order_of_time_not_as_given() -> None:
    sessions = rising(12)
    found = trends_of(sessions[::-1])
    assert [session.id for session in found.sessions] == [s.id for s in sessions]
    assert found.trends[0].change.verdict == RISE


@pytest.mark.parametrize(
    ("other", "why"),
    [
        ({"site": "Cz"}, "another site: Cz"),
        ({"reference": ""}, "another reference: none"),
        ({"protocol": "alpha-up-pz"}, "another protocol: alpha-up-pz"),
        ({"clear_s": 59.0}, "less than 60 s of clear training"),
        ({"bands": (replace(SMR, high_hz=16.0),)}, "other bands"),
        ({"bands": (replace(SMR, channel="C3"),)}, "other bands"),
    ],
)
def test_what_measured_something_else_is_left_out_and_named(
    other: dict[str, Any], why: str
) -> None:
    found = trends_of([*rising(9)[:4], seen(3, 99.0, id="odd", **other), *rising(9)[5:]])
    assert found.left_out == (("odd", why),)
    assert found.trends[0].values.max() < 10


def test_a_session_without_a_value_leaves_its_place_empty() -> None:
    sessions = rising(12)
    sessions[5] = seen(5, None)
    found = smr_of(*sessions)
    assert np.isnan(found.values[5]) and found.change.n_blocks == 11
    assert found.per_session == pytest.approx(0.2, abs=0.03)


def test_ratings_and_rates_have_trends_of_their_own() -> None:
    sessions = [seen(i, rating=3 + i // 2, rate=20.0 - i) for i in range(12)]
    _, rate, rating = trends_of(sessions).trends
    assert (rate.change.verdict, rating.change.verdict) == (FALL, RISE)
    unasked = trends_of([seen(i) for i in range(12)]).trends[2]
    assert unasked.change.verdict == TOO_FEW and np.isnan(unasked.per_session)
