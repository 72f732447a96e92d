"""Baselines and checks of a live session: recorded, rewarded never, and what is made of them."""

from pathlib import Path

import pytest

from engine.errors import ConfigError
from engine.events import Entry, PointEarned, StretchStart, StretchStop
from engine.session.asks import AskRound, AskStretch
from engine.session.messages import ClientFrame, Status
from tests.engine.session.examples import chunks_of, rhythm
from tests.engine.session.room import CLIENT, DESK, Room
from tests.engine.session.test_live import Session


def fed(session: Session, seconds: float, seed: int = 0) -> None:
    for chunk in chunks_of(rhythm(seconds, seed)):
        session.live.data(chunk)


@pytest.fixture
def session(tmp_path: Path) -> Session:
    session = Session(tmp_path)
    session.live.segment(0.0, "start")
    fed(session, 3.0)
    return session


def test_a_baseline_is_over_when_so_much_was_clear_and_what_it_came_to_is_recorded(
    session: Session,
) -> None:
    session.live.stretch("baseline before", 40.0)
    fed(session, 45.0)
    (stop,) = session.of(StretchStop)
    (entry,) = session.of(Entry)
    assert (stop.what, stop.why) == ("baseline before", "length")
    assert stop.onset_s == pytest.approx(43.0, abs=0.05)
    assert (entry.topic, entry.sample, entry.values["what"]) == (
        "baseline",
        stop.sample,
        "baseline before",
    )
    assert entry.values["clear_s"] == pytest.approx(40.0)
    assert 4 < entry.values["mean_uv"]["smr"] < 8
    assert session.of(PointEarned) == []
    assert [
        e for e in session.recorded().events() if isinstance(e, StretchStart | StretchStop)
    ] == [
        StretchStart(750, 3.0, "baseline before"),
        stop,
    ]


def test_its_end_does_not_depend_on_the_chunks(tmp_path: Path) -> None:
    ends = []
    for place, size in enumerate((1, 10, 333)):
        (tmp_path / str(place)).mkdir()
        session = Session(tmp_path / str(place))
        session.live.segment(0.0, "start")
        session.live.stretch("clench", 5.0)
        for chunk in chunks_of(rhythm(6.0), size):
            session.live.data(chunk)
        ends += session.of(StretchStop)
    assert ends[0] == ends[1] == ends[2]


def test_while_a_round_runs_nothing_is_measured(session: Session) -> None:
    session.live.round(AskRound("start"))
    with pytest.raises(ConfigError, match="Blink is asked for while a round runs"):
        session.live.stretch("blink", 5.0)


def test_a_round_ends_what_is_being_measured(session: Session) -> None:
    session.live.stretch("rest", 20.0)
    fed(session, 2.0)
    session.live.round(AskRound("start"))
    assert [stop.why for stop in session.of(StretchStop)] == ["operator"]


def test_starting_thresholds_come_from_the_baseline_and_give_its_rate(session: Session) -> None:
    session.live.stretch("baseline before", 60.0)
    fed(session, 61.0, seed=3)
    start = session.live.preparation.starting(12.0, {})
    assert start.forecast.rate == pytest.approx(12.0, abs=2.0)
    assert session.live.pipeline.settings.thresholds_uv == (9.0, 4.0)


def test_without_a_baseline_there_are_none(session: Session) -> None:
    with pytest.raises(ConfigError, match="clear time of the baseline is '0 s', but at least 30 s"):
        session.live.preparation.starting(12.0, {})


def test_both_windows_see_what_is_measured(tmp_path: Path) -> None:
    room = Room(tmp_path)
    room.ready(DESK)
    room.ready(CLIENT)
    room.opened()
    room.conductor.asked(AskStretch("clench", 4.0))
    room.data(2.0)
    status = room.told(DESK, Status)[-1]
    assert status.stretch is not None
    assert status.stretch.elapsed_s == pytest.approx(2.0, abs=0.11)
    frame = room.told(CLIENT, ClientFrame)[-1]
    assert (frame.phase, frame.prompt) == ("check", "clench")
    room.data(3.0)
    room.conductor.asked(AskStretch(""))
    assert room.told(DESK, Status)[-1].stretch is None
    assert [result.what for result in room.told(DESK, Status)[-1].results] == ["clench"]


def test_when_a_round_ends_it_is_known_what_it_came_to(session: Session) -> None:
    session.live.round(AskRound("start"))
    fed(session, 9.0)
    assert session.live.last_round is None
    session.live.round(AskRound("stop"))
    came = session.live.last_round
    assert came is not None
    assert came.name == "round 1"
    assert came.points == len(session.of(PointEarned)) > 0
    assert came.total_s == pytest.approx(9.0, abs=0.03)
