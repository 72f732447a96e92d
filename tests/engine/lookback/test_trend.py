"""Trends over sessions: like is compared with like, and nothing is said on too few."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from engine.lookback.change import FALL, NO_CHANGE, RISE, TOO_FEW
from engine.lookback.sessions_seen import SessionSeen
from engine.lookback.trend import FEWEST_SESSIONS, Trend, trends_of
from engine.protocol import SCALES
from tests.engine.lookback.sessions import SMR, rising, rounds_of, seen


def smr_of(*sessions: SessionSeen) -> Trend:
    return trends_of(sessions).bands[0].trained


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
    assert trends_of([]).bands == ()


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
    assert found.bands[0].trained.change.verdict == RISE


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
    assert found.bands[0].trained.values.max() < 10


def test_a_session_without_a_value_leaves_its_place_empty() -> None:
    sessions = rising(12)
    sessions[5] = seen(5, None)
    found = smr_of(*sessions)
    assert np.isnan(found.values[5]) and found.change.n_blocks == 11
    assert found.per_session == pytest.approx(0.2, abs=0.03)


def test_ratings_and_rates_have_trends_of_their_own() -> None:
    sessions = [seen(i, rating=3 + i // 2, rate=20.0 - i) for i in range(12)]
    found = trends_of(sessions)
    assert (found.rate.change.verdict, found.rating.change.verdict) == (FALL, RISE)
    unasked = trends_of([seen(i) for i in range(12)]).rating
    assert unasked.change.verdict == TOO_FEW and np.isnan(unasked.per_session)


def test_what_changes_within_sessions_is_kept_apart_from_what_changes_over_them() -> None:
    """Every session falls by 0.5 µV over its rounds, while the sessions rise."""
    noise = np.random.default_rng(5).normal(size=(12, 4)) * 0.05
    sessions = [
        seen(i, 4.0 + 0.2 * i, rounds=rounds_of(*(np.linspace(0.25, -0.25, 4) + noise[i]).tolist()))
        for i in range(12)
    ]
    (band,) = trends_of(sessions).bands
    assert (band.trained.change.verdict, band.within.change.verdict) == (RISE, FALL)
    assert band.within.change.change == pytest.approx(-0.5, abs=0.05)


def test_a_round_that_was_hidden_or_alone_says_nothing_of_a_session() -> None:
    one, hidden = rounds_of(4.0), rounds_of(4.0, 5.0, clear_s=29.0)
    unknown = rounds_of(4.0, None, 5.0)
    found = trends_of([seen(i, rounds=r) for i, r in enumerate((one, hidden, unknown))])
    np.testing.assert_allclose(found.bands[0].within.values, [np.nan, np.nan, 1.0])
    assert found.bands[0].within.change.verdict == TOO_FEW


def test_what_is_new_in_a_session_stands_against_the_one_before_it() -> None:
    hold, longer = (("smr.threshold", 3.5), ("hold", 0.5)), (("smr.threshold", 3.6), ("hold", 0.75))
    sessions = [
        seen(0, settings=hold, told=("medication: none known",)),
        seen(1, settings=hold, told=("medication: none known",)),
        seen(2, settings=longer, told=("a new bed",), estimator="tuned"),
    ]
    first, second, third = trends_of(sessions).news
    assert first == ("medication: none known",) and second == ()
    assert third == (
        "a new bed",
        "SMR threshold 3.5 → 3.6",
        "hold time 0.5 → 0.75",
        "estimator  → tuned",
    )
