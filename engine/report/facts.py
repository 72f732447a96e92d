"""All that a report says of one session, gathered before a word of it is written."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from engine.chunk import StreamInfo
from engine.events import Reason
from engine.lookback.blocks import BandChange
from engine.lookback.course import Course
from engine.lookback.review import Review, review
from engine.session.recorded_course import course_of
from engine.session.recorded_signal import RecordedSignal, recorded_signal
from engine.session.recording_reader import RecordedSession


@dataclass(frozen=True, eq=False)
class Facts:
    """One session, looked back on.

    Attributes
    ----------
    program : version that recorded; empty where unknown. amplifier : None where unknown.
    made : when the report is made. signal : None where the samples were not read.
    """

    review: Review
    program: str
    amplifier: StreamInfo | None
    made: datetime
    signal: RecordedSignal | None = None

    @property
    def changes(self) -> tuple[BandChange, ...]:
        """What changed of every band, in the protocol's order."""
        return self.review.changes

    @property
    def course(self) -> Course:
        return self.review.course

    def hidden(self) -> tuple[tuple[Reason, float], ...]:
        """Return what hid the signal within rounds, and for how many seconds, longest first."""
        lost: dict[Reason, float] = {}
        for span in self.course.spans:
            for each in self.course.rounds:
                shared = min(span.stop_s, each.stop_s) - max(span.start_s, each.start_s)
                if shared > 0:
                    lost[span.reason] = lost.get(span.reason, 0.0) + shared
        return tuple(sorted(lost.items(), key=lambda item: -item[1]))


def facts_of(session: RecordedSession, made: datetime) -> Facts:
    """Return the facts of a recording; RecordError when it cannot be read."""
    course = course_of(session)
    facts = course_facts(course, made, session.program, session.info)
    return replace(facts, signal=recorded_signal(session, course))


def course_facts(
    course: Course, made: datetime, program: str = "", amplifier: StreamInfo | None = None
) -> Facts:
    """Return the facts of a course."""
    return Facts(review(course), program, amplifier, made)
