"""Sessions looked at together: the same from the records as from the recordings themselves."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from engine.lookback.review import review
from engine.lookback.sessions_seen import SessionSeen, seen_of
from engine.lookback.trend import trends_of
from engine.protocol import SCALES
from engine.records.across import recordings_of, scored_alike, seen_sessions
from engine.records.filing import file_recording
from engine.records.opening import Records
from engine.session.recorded_course import recorded_course
from tests.engine.records.visits import FIRST, SECOND, recorded_visit


@pytest.fixture
def filed(records: Records, shelf: Path) -> Records:
    for stem in (FIRST, SECOND):
        file_recording(records, shelf / f"{stem}.sqlite")
    return records


def exactly(session: SessionSeen) -> SessionSeen:
    """Round what went through another scale and back."""
    bands = tuple(
        replace(
            band,
            threshold_uv=round(band.threshold_uv, 9),
            mean_uv=round(band.mean_uv or 0, 9),
            before_uv=round(band.before_uv or 0, 9),
            after_uv=None if band.after_uv is None else round(band.after_uv, 9),
        )
        for band in session.bands
    )
    rounds = tuple(
        replace(each, means_uv=tuple((band, round(uv or 0, 9)) for band, uv in each.means_uv))
        for each in session.rounds
    )
    return replace(session, bands=bands, rounds=rounds)


def test_the_records_know_of_a_session_what_its_recording_came_to(
    filed: Records, shelf: Path
) -> None:
    seen = seen_sessions(filed)["HERON-07"]
    for session, stem in zip(seen, (FIRST, SECOND), strict=True):
        course = recorded_course(shelf / f"{stem}.sqlite")
        assert exactly(session) == exactly(seen_of(review(course)))
    assert seen[0].told == ("adverse effect: headache",)
    assert seen[1].scale == "rms" and seen[0].rounds and seen[0].number == 1


def test_of_one_client_come_the_sessions_of_that_client(filed: Records, shelf: Path) -> None:
    assert set(seen_sessions(filed, "heron-07")) == {"HERON-07"}
    recorded_visit(shelf.parent / "nobody", visit=None)
    file_recording(filed, shelf.parent / "nobody" / f"{FIRST}.sqlite")
    assert [s.id for s in seen_sessions(filed)["HERON-07"]] == [SECOND]


def test_sessions_scored_alike_earn_what_each_earned_at_those_settings(
    filed: Records, shelf: Path
) -> None:
    """The second is the first on another scale; at settings of either, both must earn the same."""
    first, second = seen_sessions(filed)["HERON-07"]
    places = recordings_of(filed, "HERON-07")
    assert places[FIRST] == shelf / f"{FIRST}.sqlite"
    alike = scored_alike((first, second), places, second)
    assert alike[0].rate == alike[1].rate and alike[0].rate
    start = recorded_course(shelf / f"{FIRST}.sqlite").fixed
    begun = replace(first, settings=tuple((key, start.value(key)) for key in start.keys))
    course = review(recorded_course(shelf / f"{FIRST}.sqlite"))
    scored = scored_alike((first, second), places, begun)
    assert scored[0].rate == pytest.approx(course.whole.fixed_rate)
    assert scored[1].rate == pytest.approx(course.whole.fixed_rate)


def test_a_recording_that_is_gone_has_no_rate_and_does_no_harm(
    filed: Records, shelf: Path, tmp_path: Path
) -> None:
    first, second = seen_sessions(filed)["HERON-07"]
    heard: list[str] = []
    broken = tmp_path / "broken.sqlite"
    broken.write_bytes(b"not a recording" * 100)
    one, two = scored_alike((first, second), {SECOND: broken}, second, said=heard.append)
    assert one.rate is None and two.rate is None and len(heard) == 1
    found = trends_of((one, two))
    assert found.left_out and "less than 60 s" in found.left_out[0][1]


def test_scales_meet_before_they_are_compared(filed: Records) -> None:
    first, second = seen_sessions(filed)["HERON-07"]
    ours, theirs = first.on("rms").bands[0], second.bands[0]
    assert ours.mean_uv == pytest.approx(theirs.mean_uv)
    assert ours.threshold_uv == pytest.approx(theirs.threshold_uv)
    assert first.bands[0].mean_uv == pytest.approx((theirs.mean_uv or 0) / SCALES["rms"])
