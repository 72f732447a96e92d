"""Runs without windows: the clock is the script's, and nothing waits."""

import os
import signal
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from engine.chunk import StreamInfo
from engine.clinic import Clinic
from engine.errors import ConfigError, RecordError, SourceError
from engine.events import (
    HoldOff,
    HoldOffEnd,
    Note,
    PointEarned,
    RoundStart,
    RoundStop,
    SegmentStart,
    SourceLost,
    SourceRemark,
    SourceReturned,
    State,
    StateChanged,
)
from engine.pipeline import Pipeline
from engine.scoring import score
from engine.session.host import run_session
from engine.session.recording_reader import read_session
from engine.session.result import SessionResult
from engine.signal.amplitude import AnalyticFir
from engine.stream.messages import (
    ClockOffset,
    Data,
    Ended,
    Lost,
    Opened,
    Question,
    RateOff,
    Returned,
    Segment,
    SourceMessage,
    SourceNote,
)
from tests.engine.session.examples import INFO, PROTOCOL, chunks_of, rhythm
from tests.engine.session.fakes import Outlets, ScriptedClock, ScriptedSource

Script = list[SourceMessage | None]

OPENED: Script = [Opened(INFO), Segment(0.0, "start")]


def data(seconds: float, first_s: float = 0.0, seed: int = 0) -> Script:
    return [Data(chunk) for chunk in chunks_of(rhythm(seconds, seed), first_s=100.0 + first_s)]


class Run:
    """One headless session and what was said of it."""

    def __init__(
        self,
        folder: Path,
        script: Iterable[SourceMessage | None],
        headless_seconds: float | None = None,
    ):
        self.clock = ScriptedClock()
        self.source = ScriptedSource(iter(script), self.clock)
        self.outlets = Outlets()
        self.said: list[str] = []
        self.result: SessionResult = run_session(
            self.source,
            PROTOCOL,
            Clinic(recordings=folder / "recordings"),
            headless_seconds=headless_seconds,
            publisher=self.outlets,
            clock=self.clock,
            say=self.said.append,
        )

    def events(self, *kinds: type) -> list[object]:
        return [event for event in self.outlets.events if isinstance(event, kinds)]


def test_a_headless_run_gives_points_and_its_recording_scores_the_same(tmp_path: Path) -> None:
    run = Run(tmp_path, OPENED + data(70.0), headless_seconds=60.0)
    result = run.result
    assert (result.exit_status, result.error, result.ended) == (0, None, "all rounds are done")
    assert len(result.points) >= 5
    assert run.events(PointEarned) == list(result.points)
    assert result.recording is not None
    recorded = read_session(result.recording)
    assert recorded.ended == "all rounds are done"
    pipeline = Pipeline(recorded.protocol, recorded.info.ch_names, recorded.info.sfreq)
    summary = score(pipeline, recorded.inputs())
    assert summary["points"] == [point.onset_s for point in result.points]
    assert (run.source.started, run.source.stopped) == (1, 1)


def test_seconds_count_samples_from_the_first_of_the_round(tmp_path: Path) -> None:
    gone = [Lost("silent"), *[None] * 400, Returned("0001", "silent"), Segment(9.0, "gap")]
    run = Run(tmp_path, OPENED + data(3.0) + gone + data(9.0, 9.0), headless_seconds=6.1)
    assert run.events(RoundStart, RoundStop) == [RoundStart(0, 1), RoundStop(1525, "length")]
    assert run.result.recording is not None
    assert read_session(run.result.recording).n_samples == 1530  # the chunk that held the end


def test_without_seconds_the_rounds_of_the_protocol_run(tmp_path: Path) -> None:
    run = Run(tmp_path, OPENED + data(40.0))
    assert run.events(RoundStart, RoundStop) == [
        RoundStart(0, 1),
        RoundStop(2500, "length"),
        RoundStart(5000, 2),
        RoundStop(7500, "length"),
    ]
    assert run.result.ended == "all rounds are done"


def test_a_lost_stream_holds_points_off_until_it_is_back(tmp_path: Path) -> None:
    gone = [Lost("no sample for 0.5 s"), *[None] * 100, Returned("0002", "a new outlet")]
    script = OPENED + data(5.0) + gone + [Segment(7.0, "gap")] + data(5.0, 7.0)
    run = Run(tmp_path, script, headless_seconds=8.0)
    kinds = (SegmentStart, SourceLost, SourceReturned, HoldOff, HoldOffEnd)
    assert run.events(*kinds) == [
        SegmentStart(0, 0.0, "start"),
        SourceLost(1250, "no sample for 0.5 s"),
        HoldOff(1250, "the stream is lost"),
        SourceReturned(1250, "a new outlet"),
        HoldOffEnd(1250, "the stream is lost"),
        SegmentStart(1250, 7.0, "gap"),
    ]
    assert run.result.exit_status == 0


def test_a_stream_lost_for_good_ends_the_run_in_a_sentence(tmp_path: Path) -> None:
    run = Run(tmp_path, OPENED + data(3.0) + [Lost("no sample for 0.5 s")], headless_seconds=60.0)
    assert isinstance(run.result.error, SourceError)
    assert run.result.exit_status == 1
    assert "has been gone for 30 s" in str(run.result.error)
    assert run.result.seconds == 3.0
    assert run.result.recording is not None
    assert read_session(run.result.recording).n_samples == 750


def test_an_error_of_the_source_is_the_runs(tmp_path: Path) -> None:
    error = SourceError("No stream is there, but one is needed; start the amplifier.")
    run = Run(tmp_path, [Ended(error)], headless_seconds=60.0)
    assert (run.result.error, run.result.exit_status) == (error, 1)
    assert (run.result.recording, run.result.points, run.result.seconds) == (None, (), 0.0)


def test_the_end_of_a_file_is_no_error(tmp_path: Path) -> None:
    run = Run(tmp_path, [*OPENED, *data(3.0), Ended()], headless_seconds=60.0)
    assert (run.result.exit_status, run.result.ended) == (0, "the stream has ended")
    assert run.events(RoundStop) == [RoundStop(750, "stream ended")]


def test_a_question_without_anybody_to_answer_names_the_option(tmp_path: Path) -> None:
    question = Question("unit", "In which unit are the samples?", ("V", "µV"), "µV")
    run = Run(tmp_path, [question], headless_seconds=60.0)
    assert isinstance(run.result.error, ConfigError)
    assert run.result.exit_status == 2
    assert str(run.result.error) == (
        "In which unit are the samples? Nobody is there to answer, and one of V, µV is accepted; "
        "give it with --unit."
    )


def test_a_channel_that_is_not_there_is_the_operators_to_correct(tmp_path: Path) -> None:
    info = StreamInfo(**{**INFO.__dict__, "ch_names": ("O1", "O2")})
    run = Run(tmp_path, [Opened(info)], headless_seconds=60.0)
    assert isinstance(run.result.error, ConfigError)
    assert "C4" in str(run.result.error)
    assert not (tmp_path / "recordings").exists()


def test_a_folder_that_cannot_be_made_is_the_operators_to_correct(tmp_path: Path) -> None:
    (tmp_path / "recordings").write_text("a file is in the way")
    run = Run(tmp_path, OPENED, headless_seconds=60.0)
    assert isinstance(run.result.error, ConfigError)
    assert "folders.recordings" in str(run.result.error)


def test_a_rate_that_is_off_holds_points_off_and_says_so(tmp_path: Path) -> None:
    script = [*OPENED, *data(3.0), RateOff(244.0, True), *data(3.0, 3.0), RateOff(249.9, False)]
    run = Run(tmp_path, script + data(3.0, 6.0), headless_seconds=8.0)
    assert run.events(HoldOff, HoldOffEnd) == [
        HoldOff(750, "the stream's rate is not the accepted one"),
        HoldOffEnd(1500, "the stream's rate is not the accepted one"),
    ]
    assert "runs at 244.00 Hz, but the filters stand at 250 Hz" in run.said[0]


def test_what_the_source_notes_is_kept_and_said(tmp_path: Path) -> None:
    script = [*OPENED, *data(1.0), SourceNote("The clock jumped back."), ClockOffset(-0.5, 101.0)]
    run = Run(tmp_path, script + data(2.0, 1.0), headless_seconds=2.0)
    assert run.events(SourceRemark) == [SourceRemark(250, "The clock jumped back.")]
    assert run.said == ["The clock jumped back."]
    assert run.result.recording is not None
    assert read_session(run.result.recording).clock_offsets == ((101.0, -0.5),)


def test_a_stream_opened_anew_at_another_rate_ends_the_session(tmp_path: Path) -> None:
    other = StreamInfo(**{**INFO.__dict__, "sfreq": 244.0})
    run = Run(tmp_path, OPENED + data(1.0) + [Opened(other)], headless_seconds=60.0)
    assert isinstance(run.result.error, SourceError)
    assert "a session keeps the stream it began with" in str(run.result.error)


def test_ctrl_c_ends_in_order(tmp_path: Path) -> None:
    def script() -> Iterator[SourceMessage | None]:
        yield from OPENED + data(3.0)
        os.kill(os.getpid(), signal.SIGINT)
        yield from data(30.0, 3.0)

    before = signal.getsignal(signal.SIGINT)
    run = Run(tmp_path, script(), headless_seconds=60.0)
    assert signal.getsignal(signal.SIGINT) is before
    assert (run.result.ended, run.result.exit_status) == ("Ctrl-C", 0)
    assert run.source.stopped == 1
    assert run.result.recording is not None
    recorded = read_session(run.result.recording)
    assert recorded.ended == "Ctrl-C"
    assert [e for e in recorded.events() if isinstance(e, RoundStop)] == [
        RoundStop(recorded.n_samples, "session closed")
    ]


def test_a_fault_of_the_program_leaves_a_closed_recording(tmp_path: Path) -> None:
    def script() -> Iterator[SourceMessage | None]:
        yield from OPENED + data(3.0)
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        Run(tmp_path, script(), headless_seconds=60.0)
    (path,) = (tmp_path / "recordings").iterdir()
    recorded = read_session(path)
    assert (recorded.n_samples, recorded.ended) == (750, "a fault of the program")


def test_latency_is_from_arrival_and_from_the_stamp_and_not_of_backlog(tmp_path: Path) -> None:
    backlog: Script = [Data(chunk, live=False) for chunk in chunks_of(rhythm(2.0), first_s=0.0)]
    run = Run(tmp_path, OPENED + backlog + data(3.0, 2.0), headless_seconds=5.0)
    latency, from_stamp = run.result.latency, run.result.latency_from_stamp
    assert latency.n == from_stamp.n == 150
    # the script's clock stands 2 ms after arrival, and a chunk arrives 1 ms after its last stamp
    assert latency.median_ms == pytest.approx(2.0, abs=0.1)
    assert from_stamp.median_ms == pytest.approx(3.0, abs=0.1)


def test_outlets_hear_of_everything_but_notes(tmp_path: Path) -> None:
    run = Run(tmp_path, OPENED + data(12.0), headless_seconds=10.0)
    assert run.events(PointEarned, StateChanged)
    assert run.events(Note) == []
    states = [event.state for event in run.outlets.events if isinstance(event, StateChanged)]
    assert State.HOLDING in states


def test_client_frames_come_at_least_25_times_a_second_of_stream(tmp_path: Path) -> None:
    run = Run(tmp_path, OPENED + data(10.0), headless_seconds=10.0)
    assert len(run.outlets.frames) >= 250
    assert max(frame.points for frame in run.outlets.frames) == len(run.result.points)
    assert run.outlets.frames[-1].points == len(run.result.points)


def test_the_time_of_day_is_noted_beside_the_clock(tmp_path: Path) -> None:
    run = Run(tmp_path, OPENED + data(131.0), headless_seconds=130.0)
    assert run.result.recording is not None
    anchors = read_session(run.result.recording).anchors
    assert len(anchors) >= 3
    assert all(utc.endswith("+00:00") for _, utc in anchors)


def test_the_filters_are_recorded_as_they_ran(tmp_path: Path) -> None:
    run = Run(tmp_path, OPENED + data(2.0), headless_seconds=1.0)
    assert run.result.recording is not None
    taps = read_session(run.result.recording).taps()
    estimator = Pipeline(PROTOCOL, INFO.ch_names, INFO.sfreq).plan.estimator
    assert isinstance(estimator, AnalyticFir)
    assert taps["estimator.taps"].tobytes() == estimator.taps.tobytes()
    assert taps["decimator.taps"].tobytes() == estimator.decimator.taps.tobytes()


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such limit")
def test_a_disk_that_fails_to_the_end_is_the_runs_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import resource

    monkeypatch.setattr("engine.session.recording.CLOSE_S", 0.3)

    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)

    def script() -> Iterator[SourceMessage | None]:
        yield from OPENED
        resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, hard))
        yield from data(40.0)

    try:
        run = Run(tmp_path, script(), headless_seconds=30.0)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert isinstance(run.result.error, RecordError)
    assert run.result.exit_status == 1
    assert run.result.points
