"""The progress note says what the record holds, and owns what it does not."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import numpy as np

from engine.events import Entry
from engine.lookback.course import Course
from engine.lookback.progress_note import progress_note
from engine.lookback.review import review
from tests.engine.lookback.courses import made_course, nudged

N = 420
LEVELS = np.column_stack([np.full(N, 8.02), np.full(N, 4.52), np.full(N, 5.22)])
LEVELS += np.random.default_rng(1).normal(size=LEVELS.shape) * 0.2


def entry(topic: str, time_s: float = 0.0, **values: Any) -> Entry:
    return Entry(round(time_s * 250), time_s, topic, values, "AB")


def note_of(course: Course) -> str:
    return progress_note(review(course))


VISIT = entry(
    "visit",
    client="HERON-07",
    number=4,
    operator="AB",
    site="C4",
    reference="A2",
    today={"sleep": "6 h, restless", "effects": "none"},
    changed="a new job",
)


def test_a_whole_session_is_all_there() -> None:
    points = np.zeros(N, dtype=np.int64)
    points[60::5] = 1
    course = made_course(
        LEVELS,
        points=points,
        rounds=((60.0, 240.0), (260.0, 400.0)),
        baselines=(("baseline before", 0.0, 50.0),),
        changes=(nudged(150.0, "smr.threshold", 4.0, 4.2), nudged(300.0, "hold", 0.5, 0.6)),
        entries=(
            VISIT,
            entry("contact", kohm={"C4": 4.2, "A2": 5.0, "A1": None}),
            entry("drowsy", 130.0),
            entry(
                "adverse",
                200.0,
                what="headache",
                severity="mild",
                when="during training",
                words="left temple",
                done="paused",
                follow_up=True,
            ),
            entry("rating", 410.0, rating=7, words="calm, a bit long"),
            entry("plan", 411.0, next="same again"),
            entry("care", 415.0, done=["dry"], left=[], sensors="set B", n_sessions=41),
        ),
    )
    began = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
    text = note_of(replace(course, began_utc=began))
    for line in (
        "HERON-07, session 4, 2026-11-26 09:00 UTC",
        "SMR up at C4; sensor at C4 (reference A2, ground A2); operator AB",
        "- Sleep last night: 6 h, restless",
        "- Else: a new job",
        "- Impedances: C4 4.2 kΩ, A2 5 kΩ",
        "- At the first round: theta 4–8 Hz below 9.00, SMR 12–15 Hz above 4.00, high beta "
        "20–30 Hz below 6.00 µV peak, hold 0.5 s, quiet 1 s.",
        "- 2:30 min: SMR threshold 4 → 4.2 (12 → 12 points a clear minute)",
        "- 5:00 min: hold time 0.5 → 0.6 (12 → 12 points a clear minute)",
        "- Own rating: 7 of 10",
        "- Own words: “calm, a bit long”",
        "- Drowsy at 2:10 min",
        "- headache, mild, during training, left temple; done: paused; ask again next time",
        "- Sensors off, cleaned and looked at.",
        "- Sensors: set B (session 41)",
    ):
        assert line in text, text
    assert "- Baseline before (0:50 min, 100% clear): theta 8.0, SMR 4.5, high beta 5.2 µV" in text
    assert "- Round 1 (3:00 min, 100% clear): theta 8.0, SMR 4.5, high beta 5.2 µV; 36 points" in (
        text
    )
    assert text.endswith("Next session\n- same again\n")


def test_what_was_not_written_down_is_not_made_up() -> None:
    text = note_of(made_course(LEVELS))
    assert text.startswith("client not named, date not known")
    assert "Today\n" not in text
    assert "- Impedances were not written down." in text
    assert "- No setting was changed." in text
    assert "- Own rating: not asked" in text
    assert "- None was written down." in text
    assert text.endswith("- not planned yet\n")


def test_the_lowest_rating_is_a_rating() -> None:
    text = note_of(made_course(LEVELS, entries=(entry("rating", rating=0, words=""),)))
    assert "- Own rating: 0 of 10" in text


def test_a_mark_that_was_not_described_is_not_forgotten() -> None:
    text = note_of(made_course(LEVELS, entries=(entry("adverse", what=""),)))
    assert "- Marked in the session, not described yet." in text


def test_many_changes_are_counted() -> None:
    changes = tuple(nudged(20.0 * n, "smr.threshold", 4.0, 4.0 + n / 10) for n in range(1, 12))
    text = note_of(made_course(LEVELS, changes=changes))
    assert "- Settings were changed 11 times; the recording lists each." in text


def test_a_session_without_a_round_says_so() -> None:
    assert "- No round was trained." in note_of(made_course(LEVELS, rounds=()))
