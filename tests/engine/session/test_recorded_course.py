"""The course of a recording is the course of the session that it recorded."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest

from engine.events import Reason, Tick
from engine.lookback.course import Course, Rows
from engine.lookback.keeper import CourseKeeper
from engine.session.asks import AskNudge, AskRound
from engine.session.recorded_course import recorded_course
from engine.session.recorded_ticks import moving_mean, recorded_ticks
from engine.session.recording_reader import read_session
from tests.engine.session.examples import INFO, PROTOCOL, chunks_of, rhythm
from tests.engine.session.recorded import BEGAN, LONG, STEM, begun_live, recorded_session

THREE = replace(PROTOCOL, rounds=replace(PROTOCOL.rounds, count=2, length_s=10.0, rest_s=3.0))


def same(one: Course, other: Course) -> None:
    """Hold every field of two courses against each other."""
    for field in fields(Course):
        mine, theirs = getattr(one, field.name), getattr(other, field.name)
        if isinstance(mine, Rows):
            for name, values in vars(mine).items():
                np.testing.assert_allclose(
                    values, vars(theirs)[name], rtol=1e-9, atol=1e-9, err_msg=name
                )
        elif isinstance(mine, np.ndarray):
            np.testing.assert_allclose(mine, theirs, rtol=1e-9, err_msg=field.name)
        elif field.name not in ("id", "began_utc", "ended"):
            assert mine == theirs, field.name


def test_a_recording_gives_what_was_kept_while_it_ran(tmp_path: Path) -> None:
    keeper = CourseKeeper(LONG, INFO.sfreq)
    path = recorded_session(tmp_path, hear=keeper.hear)
    course = recorded_course(path)
    same(keeper.course(), course)
    assert course.id == STEM
    assert course.ended == "operator"
    assert course.began_utc is not None
    assert abs((course.began_utc - BEGAN).total_seconds()) < 1
    assert course.visit["client"] == "HERON-07"
    assert [note.text for note in course.notes] == ["=said that it is quiet; µV and ü"]


def test_rounds_stretches_and_nudges_stand_where_they_were(tmp_path: Path) -> None:
    keeper = CourseKeeper(THREE, INFO.sfreq)
    live = begun_live(tmp_path, THREE, hear=keeper.hear)
    live.segment(0.0, "start")
    raw = rhythm(32.0)

    def feed(begin_s: float, end_s: float) -> None:
        piece = raw[round(begin_s * INFO.sfreq) : round(end_s * INFO.sfreq)]
        for chunk in chunks_of(piece, first_s=begin_s):
            live.data(chunk)

    feed(0, 3)
    live.nudge(AskNudge("theta.averaging", "key", value=0.1))
    feed(3, 6)
    live.round(AskRound("start"))
    feed(6, 9)
    live.nudge(AskNudge("smr.threshold", "key", steps=5))
    live.nudge(AskNudge("smr.averaging", "key", value=0.6))
    feed(9, 12)
    live.hold_off("desk", "the monitor is not open")
    feed(12, 13)
    live.hold_off_end("desk")
    feed(13, 32)
    live.end("operator")
    live.recording.meta("ended", "operator")
    live.recording.close()
    assert live.recording.path is not None
    course = recorded_course(live.recording.path)
    same(keeper.course(), course)
    assert [(r.number, round(r.start_s), round(r.stop_s)) for r in course.rounds] == [
        (1, 6, 16),
        (2, 19, 29),
    ]
    assert course.fixed == THREE.settings.changed("theta.averaging", 0.1)
    assert course.threshold_steps("smr") == ((0.0, 4.0), (course.changes[1].onset_s, 4.5))
    held_off = course.rows.time_s[(course.rows.round == 0) & (course.rows.n_ticks > 5)]
    assert {12} <= {int(second) for second in held_off}
    assert course.rows.points.sum() == course.points_s.shape[0] == len(live.points)
    assert course.rounds_rows().n_ticks.sum() == live.tally.n_ticks
    inside = course.rounds_rows()
    assert inside.mean(inside.mean_uv).tolist() == pytest.approx(live.tally.mean_uv())
    assert inside.mean(inside.met_share).tolist() == pytest.approx(live.tally.met_fraction())


def test_points_at_fixed_settings_are_the_points_where_nothing_was_changed(tmp_path: Path) -> None:
    keeper = CourseKeeper(THREE, INFO.sfreq)
    live = begun_live(tmp_path, THREE, hear=keeper.hear)
    live.segment(0.0, "start")
    live.round(AskRound("start"))
    for chunk in chunks_of(rhythm(25.0)):
        live.data(chunk)
    live.recording.close()
    assert live.recording.path is not None
    course = recorded_course(live.recording.path)
    assert len(live.points) > 3
    np.testing.assert_array_equal(course.fixed_points_s, course.points_s)
    np.testing.assert_array_equal(course.rows.fixed_points, course.rows.points)
    np.testing.assert_array_equal(course.rate(), course.fixed_rate())
    at_end = course.rate()[course.rows.round > 0][-1]
    assert at_end == pytest.approx(live.meter.last_minute().per_minute, rel=0.02)


def test_what_is_averaged_again_is_what_the_criterion_took(tmp_path: Path) -> None:
    heard: list[object] = []
    path = recorded_session(tmp_path, hear=heard.append)
    ticks = recorded_ticks(read_session(path))
    came = [tick for tick in heard if isinstance(tick, Tick)]
    clear = ticks.clear
    assert 0.3 < clear.mean() < 1
    np.testing.assert_allclose(
        ticks.averaged_uv[clear],
        np.array([tick.amplitudes_uv for tick in came])[clear],
        rtol=1e-9,
    )
    np.testing.assert_array_equal(ticks.met[clear], np.array([tick.met for tick in came])[clear])


def test_a_gap_is_a_span_of_its_own(tmp_path: Path) -> None:
    course = recorded_course(recorded_session(tmp_path, gap_s=1.5))
    lacking = [span for span in course.spans if span.reason is Reason.GAP]
    assert lacking[0].stop_s - lacking[0].start_s == pytest.approx(1.5, abs=0.03)
    assert lacking[0].start_s == pytest.approx(20.0, abs=0.03)


def test_a_recording_without_a_round_has_a_course(tmp_path: Path) -> None:
    live = begun_live(tmp_path)
    live.segment(0.0, "start")
    for chunk in chunks_of(rhythm(4.0)):
        live.data(chunk)
    live.recording.close()
    assert live.recording.path is not None
    course = recorded_course(live.recording.path)
    assert len(course.rounds_rows()) == 0
    assert np.isnan(course.rate()).all()
    assert course.fixed == LONG.settings
    empty = CourseKeeper(LONG, INFO.sfreq).course()
    assert (len(empty.rows), empty.end_s) == (0, 0.0)


def test_a_moving_mean_takes_those_before_it() -> None:
    values = np.array([1.0, 3.0, 5.0, 7.0])
    np.testing.assert_allclose(moving_mean(values, 2, 0, 4), [1, 2, 4, 6])
    np.testing.assert_allclose(moving_mean(values, 3, 2, 4), [3, 5])
