import random
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from engine.chunk import Chunk
from engine.errors import ConfigError
from engine.events import (
    Event,
    HoldOff,
    HoldOffEnd,
    Note,
    Nudge,
    PointEarned,
    RoundStart,
    RoundStop,
    SettingChanged,
    Tick,
)
from engine.pipeline import Pipeline
from engine.protocol import Rounds
from engine.scoring import score
from engine.session.asks import AskNudge, AskRound
from engine.session.live import LiveSession
from engine.session.recording import Recording
from engine.session.recording_reader import RecordedSession, read_session
from tests.engine.session.examples import INFO, PROTOCOL, chunks_of, rhythm


class Session:
    """A live session on a pipeline of its own, and everything that was heard of it."""

    def __init__(self, folder: Path, rounds: Rounds | None = None):
        self.heard: list[Tick | Event] = []
        self.recording = Recording(folder, "session")
        self.recording.begin(PROTOCOL, INFO, "0.1.0", {})
        pipeline = Pipeline(PROTOCOL, INFO.ch_names, INFO.sfreq)
        self.live = LiveSession(
            PROTOCOL, pipeline, self.recording, self.heard.append, rounds=rounds
        )

    def of(self, *kinds: type) -> list[Any]:
        return [item for item in self.heard if isinstance(item, kinds)]

    def recorded(self) -> RecordedSession:
        self.recording.close()
        assert self.recording.path is not None
        return read_session(self.recording.path)


def fed_again(session: RecordedSession) -> list[Any]:
    """Everything but the inputs that the pipeline gives when it is fed the recording."""
    pipeline = Pipeline(session.protocol, session.info.ch_names, session.info.sfreq)
    outputs: list[Any] = []
    for item in session.inputs():
        if isinstance(item, Chunk):
            outputs += pipeline.feed(item)
        else:
            pipeline.apply(item)
    return outputs


def trained(session: Session, seconds: float, seed: int = 0) -> None:
    session.live.segment(0.0, "start")
    session.live.round(AskRound("start"))
    for chunk in chunks_of(rhythm(seconds, seed)):
        session.live.data(chunk)


def test_a_recording_scores_exactly_the_live_points(tmp_path: Path) -> None:
    session = Session(tmp_path, Rounds(1, 60.0, 0.0))
    trained(session, 60.0)
    points = session.of(PointEarned)
    assert len(points) >= 5
    recorded = session.recorded()
    assert list(recorded.points()) == points
    pipeline = Pipeline(recorded.protocol, recorded.info.ch_names, recorded.info.sfreq)
    summary = score(pipeline, recorded.inputs())
    assert summary["points"] == [point.onset_s for point in points]


def test_every_tick_is_logged_as_it_was(tmp_path: Path) -> None:
    session = Session(tmp_path)
    trained(session, 12.0)
    ticks = session.of(Tick)
    logged = list(session.recorded().ticks())
    assert np.concatenate([part.samples for part in logged]).tolist() == [t.sample for t in ticks]
    assert np.vstack([part.fast_uv for part in logged]).tolist() == [list(t.fast_uv) for t in ticks]
    assert [state for part in logged for state in part.states] == [t.state for t in ticks]
    assert [why for part in logged for why in part.reasons] == [t.reasons for t in ticks]


actions = st.lists(
    st.sampled_from(
        [
            *["data"] * 9,
            "gap",
            *["start"] * 3,
            "rest",
            "stop",
            "off",
            "on",
            "note",
            "smr.threshold",
            "theta.threshold",
            "hold",
            "quiet",
            "smr.averaging",
        ]
    ),
    min_size=6,
    max_size=30,
)


@settings(max_examples=25)
@given(actions=actions, seed=st.integers(0, 1000))
def test_whatever_happens_the_recording_fed_again_gives_what_was_live(
    actions: list[str], seed: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    session = Session(tmp_path_factory.mktemp("live"), Rounds(3, 15.0, 2.0))
    live, chance = session.live, random.Random(seed)
    raw = rhythm(10.0 * len(actions) + 1, seed)
    live.segment(0.0, "start")
    live.round(AskRound("start"))
    for action in actions:
        if action == "data":
            n = chance.randint(1, 2500)
            piece, raw = raw[:n], raw[n:]
            for chunk in chunks_of(piece, size=chance.choice([5, 7, 64, 500])):
                live.data(chunk)
        elif action == "gap":
            live.segment(live.pipeline.time_s + chance.uniform(0, 3), "gap")
        elif action in ("start", "rest", "stop"):
            live.round(AskRound(action))
        elif action == "off":
            live.hold_off("window desk", "the desk is gone")
        elif action == "on":
            live.hold_off_end("window desk")
        elif action == "note":
            live.note("a note")
        else:
            live.nudge(AskNudge(action, "key", steps=chance.choice([-1, 1])))
    event(f"points: {min(3, len(live.points))}")
    recorded = session.recorded()
    ticks_and_outputs = session.of(Tick, PointEarned, SettingChanged)
    again = fed_again(recorded)
    assert [i for i in again if isinstance(i, Tick | PointEarned | SettingChanged)] == (
        ticks_and_outputs
    )
    assert list(recorded.events()) == [e for e in session.heard if not isinstance(e, Tick)]


def test_a_round_ends_at_its_sample_inside_a_chunk(tmp_path: Path) -> None:
    session = Session(tmp_path, Rounds(2, 2.0, 1.0))
    session.live.segment(0.0, "start")
    session.live.round(AskRound("start"))
    (chunk,) = chunks_of(rhythm(6.0), size=1500)
    session.live.data(chunk)
    assert session.of(RoundStart, RoundStop) == [
        RoundStart(0, 1),
        RoundStop(500, "length"),
        RoundStart(750, 2),
        RoundStop(1250, "length"),
    ]
    assert session.live.rounds.phase == "ended"


def test_a_nudge_is_a_step_of_the_protocol_without_a_trail_of_digits(tmp_path: Path) -> None:
    session = Session(tmp_path)
    for _ in range(3):
        session.live.nudge(AskNudge("smr.threshold", "key", steps=1))
    session.live.nudge(AskNudge("hold", "button", steps=-2))
    session.live.nudge(AskNudge("theta.threshold", "drag", value=8.123456789))
    assert session.of(Nudge) == [
        Nudge(0, "smr.threshold", 4.1, "operator", "key"),
        Nudge(0, "smr.threshold", 4.2, "operator", "key"),
        Nudge(0, "smr.threshold", 4.3, "operator", "key"),
        Nudge(0, "hold", 0.4, "operator", "button"),
        Nudge(0, "theta.threshold", 8.123457, "operator", "drag"),
    ]


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (AskNudge("hold", "key", steps=-50), r"hold is -2\.0, but 0\.02 to 10 s is accepted"),
        (AskNudge("smr.threshold", "drag", value=float("nan")), "smr.threshold is nan"),
        (AskNudge("delta.threshold", "key", steps=1), "one of theta.threshold"),
    ],
)
def test_a_nudge_out_of_range_is_refused_in_a_sentence(
    ask: AskNudge, says: str, tmp_path: Path
) -> None:
    session = Session(tmp_path)
    before = session.live.pipeline.settings
    with pytest.raises(ConfigError, match=says):
        session.live.nudge(ask)
    assert session.live.pipeline.settings == before
    assert session.heard == []


def test_a_nudge_to_where_it_stands_is_none(tmp_path: Path) -> None:
    session = Session(tmp_path)
    session.live.nudge(AskNudge("smr.threshold", "drag", value=4.0))
    assert session.heard == []


def test_two_causes_that_hold_off_are_two(tmp_path: Path) -> None:
    session = Session(tmp_path)
    session.live.hold_off("source", "the stream is lost")
    session.live.hold_off("window desk", "the desk is gone")
    session.live.hold_off("source", "the stream is lost")
    session.live.hold_off_end("source")
    session.live.hold_off_end("rate")
    assert session.of(HoldOff, HoldOffEnd) == [
        HoldOff(0, "the stream is lost"),
        HoldOff(0, "the desk is gone"),
        HoldOffEnd(0, "the stream is lost"),
    ]
    assert session.live.holds_off == {"window desk": "the desk is gone"}


def test_no_point_is_earned_while_points_are_held_off(tmp_path: Path) -> None:
    session = Session(tmp_path, Rounds(1, 100.0, 0.0))
    session.live.segment(0.0, "start")
    session.live.round(AskRound("start"))
    session.live.hold_off("source", "the stream is lost")
    chunks = chunks_of(rhythm(60.0))
    for chunk in chunks[:750]:
        session.live.data(chunk)
    assert session.of(PointEarned) == []
    session.live.hold_off_end("source")
    for chunk in chunks[750:]:
        session.live.data(chunk)
    assert session.of(PointEarned)


def test_samples_missing_between_segments_are_counted(tmp_path: Path) -> None:
    session = Session(tmp_path)
    session.live.segment(0.0, "start")
    for chunk in chunks_of(rhythm(2.0)):
        session.live.data(chunk)
    session.live.segment(3.0, "gap")
    assert session.live.lost_samples == 250


def test_a_note_carries_its_moment(tmp_path: Path) -> None:
    session = Session(tmp_path)
    session.live.segment(0.0, "start")
    for chunk in chunks_of(rhythm(2.0)):
        session.live.data(chunk)
    session.live.note("yawned")
    assert session.of(Note) == [Note(500, 2.0, "yawned", "operator")]


def test_a_round_ask_that_is_none_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="start, rest or stop is accepted"):
        Session(tmp_path).live.round(AskRound("pause"))
