"""What a session came to: every number of a course that was made by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from engine.lookback.review import review
from tests.engine.lookback.courses import made_course, nudged

N = 420
LEVELS = np.column_stack([np.full(N, 8.0), np.full(N, 5.0), np.full(N, 4.0)])


def earning(per_minute: int, n: int = N) -> np.ndarray:
    """Return points a second, evenly spread."""
    return np.diff(np.arange(n + 1) * per_minute // 60)


def test_a_round_has_its_means_rate_and_clear_share() -> None:
    levels = LEVELS.copy()
    levels[240:, 1] = 3.0
    clear = np.ones(N)
    clear[180:240] = 0.5
    course = made_course(
        levels,
        clear=clear,
        points=earning(12),
        rounds=((120.0, 240.0), (270.0, 390.0)),
    )
    found = review(course)
    first, second = found.rounds
    assert (first.name, first.start_s) == ("round 1", 120.0)
    assert first.stop_s == pytest.approx(240.0)
    assert first.mean_uv == pytest.approx((8.0, 5.0, 4.0))
    assert first.met_share == pytest.approx((1.0, 1.0, 1.0))
    assert second.mean_uv == pytest.approx((8.0, 3.0, 4.0))
    assert second.met_share == pytest.approx((1.0, 0.0, 1.0))
    assert (first.points, first.total_s) == (24, 120.0)
    assert first.clear_s == pytest.approx(90.0)
    assert first.clear_share == pytest.approx(0.75)
    assert first.rate == pytest.approx(24 / 1.5)
    assert second.rate == pytest.approx(12.0)
    assert found.whole.points == 48
    assert [m.name for m in found.minutes[:3]] == [
        "round 1, minute 1",
        "round 1, minute 2",
        "round 2, minute 1",
    ]
    assert found.minutes[1].clear_share == pytest.approx(0.5)
    assert found.before is None and found.after is None


def test_minutes_begin_with_the_round_though_its_first_tick_reaches_back() -> None:
    course = made_course(LEVELS, rounds=((100.01, 220.0),))
    rows = replace(course.rows, time_s=course.rows.time_s + 0.005)
    rows.round[100] = 1  # began 5 ms before the round's own first sample
    found = review(replace(course, rows=rows))
    assert [m.name for m in found.minutes] == ["round 1, minute 1", "round 1, minute 2"]


def test_means_count_clear_time_and_not_rows() -> None:
    levels = np.array([[1.0, 10.0, 1.0], [1.0, 4.0, 1.0]])
    course = made_course(levels, clear=np.array([0.2, 1.0]))
    assert review(course).whole.mean_uv[1] == pytest.approx((10 * 0.2 + 4) / 1.2)


def test_baselines_stand_at_both_ends() -> None:
    levels = LEVELS.copy()
    levels[:60, 1], levels[360:, 1] = 4.5, 4.8
    course = made_course(
        levels,
        rounds=((60.0, 360.0),),
        baselines=(("baseline before", 0.0, 60.0), ("baseline after", 360.0, 420.0)),
    )
    found = review(course)
    assert found.before is not None and found.after is not None
    assert found.before.mean_uv[1] == pytest.approx(4.5)
    assert found.after.mean_uv[1] == pytest.approx(4.8)
    assert found.before.total_s == pytest.approx(60.0)


def test_a_change_is_marked_with_what_the_same_settings_would_have_given() -> None:
    points = np.concatenate([earning(6, 210), earning(18, 210)])
    course = made_course(
        LEVELS,
        points=points,
        fixed_points=earning(6),
        changes=(nudged(210.0, "smr.threshold", 4.0, 3.5),),
    )
    (effect,) = review(course).effects
    assert (effect.key, effect.old, effect.new) == ("smr.threshold", 4.0, 3.5)
    assert effect.enough
    assert effect.before.total_s == effect.after.total_s == pytest.approx(120.0)
    assert [effect.before.rate, effect.after.rate] == pytest.approx([6, 18])
    assert [effect.before.fixed_rate, effect.after.fixed_rate] == pytest.approx([6, 6])


def test_quick_presses_are_one_change_and_back_again_is_none() -> None:
    changes = (
        nudged(100.0, "smr.threshold", 4.0, 3.9),
        nudged(102.0, "smr.threshold", 3.9, 3.8),
        nudged(200.0, "hold", 0.5, 0.6),
        nudged(203.0, "hold", 0.6, 0.5),
        nudged(215.0, "theta.threshold", 9.0, 9.2),
    )
    effects = review(made_course(LEVELS, changes=changes)).effects
    assert [(e.key, e.old, e.new) for e in effects] == [
        ("smr.threshold", 4.0, 3.8),
        ("theta.threshold", 9.0, 9.2),
    ]
    assert not effects[1].enough


def test_time_in_the_zone_is_counted_from_the_rate_of_the_last_minute() -> None:
    points = np.concatenate([np.zeros(120, dtype=int), earning(12, 300)])
    whole = review(made_course(LEVELS, points=points)).whole
    # from nothing to ten a minute takes the rate of the last minute 50 s
    assert whole.zone_share == pytest.approx((N - 120 - 50) / N, abs=0.02)


def test_a_session_without_a_round_has_no_rate() -> None:
    whole = review(made_course(LEVELS, rounds=())).whole
    assert (whole.points, whole.rate, whole.total_s) == (0, None, 0.0)
    assert np.isnan(whole.mean_uv).all()
