"""A place that is read-only and a file that another program holds: said, and nothing is lost.

A full disk, a folder in the way and a deleted file stand in `test_recording`.
"""

import errno
import threading
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from sqlcipher3 import dbapi2 as driver

from engine.clinic import Clinic
from engine.errors import RecordError
from engine.events import HoldOff, PointEarned
from engine.session import recording_tables as tables
from engine.session.host import run_session
from engine.session.recording import Recording
from engine.session.recording_reader import read_session
from engine.session.verification import verify
from engine.stream.messages import Data, Opened, Segment, SourceMessage
from tests.engine.session.examples import INFO, PROTOCOL, chunks_of, noise, rhythm
from tests.engine.session.fakes import Outlets, ScriptedClock, ScriptedSource

create_file = tables.create_file


class Place:
    """Where recordings are made, which refuses for as long as it is told to."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch):
        self.refuses: OSError | None = None
        self.held = threading.Event()
        self.other: tables.Connection | None = None
        self._hold = False
        monkeypatch.setattr(tables, "create_file", self._create)

    def hold_next(self) -> None:
        """Let another program take the next file as soon as it is there."""
        self._hold = True

    def release(self) -> None:
        """Let the other program close it."""
        assert self.held.wait(5.0) and self.other is not None
        self.other.close()

    def _create(self, folder: Path, stem: str) -> Path:
        if self.refuses is not None:
            raise self.refuses
        path = create_file(folder, stem)
        if self._hold:
            self.other = driver.connect(path, check_same_thread=False)
            self.other.execute("BEGIN EXCLUSIVE")
            self.held.set()
        return path


@pytest.fixture
def place(monkeypatch: pytest.MonkeyPatch) -> Place:
    return Place(monkeypatch)


def begun(folder: Path) -> Recording:
    recording = Recording(folder, "session")
    recording.begin(PROTOCOL, INFO, "0.1.0", {})
    recording.samples(0, noise(500))
    return recording


def is_whole(path: Path) -> bool:
    with closing(tables.connect(path, read_only=True)) as connection:
        return bool(connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)])


@pytest.mark.parametrize("number", [errno.EROFS, errno.EACCES])
def test_a_read_only_place_is_said_and_the_recording_starts_when_it_can(
    number: int, place: Place, tmp_path: Path
) -> None:
    place.refuses = OSError(number, "refused")
    recording = begun(tmp_path)
    assert not recording.flush(timeout_s=0.4)
    (remark,) = recording.take_remarks()
    assert remark.grave and remark.text == recording.fault
    assert remark.text == (
        f"The recording {tmp_path} cannot be written: the place is read-only; make it writable: "
        "what is saved is whole, and the rest waits in memory until it can be written."
    )
    place.refuses = None
    assert recording.flush()
    recording.close()
    assert read_session(tmp_path / "session.sqlite").n_samples == 500


def test_a_file_that_another_program_holds_is_said_and_written_when_it_lets_go(
    place: Place, tmp_path: Path
) -> None:
    place.hold_next()
    recording = begun(tmp_path)
    assert not recording.flush(timeout_s=0.6)
    (remark,) = recording.take_remarks()
    assert remark.grave and "another program holds the file; close that program" in remark.text
    place.release()
    assert recording.flush()
    assert [said.grave for said in recording.take_remarks()] == [False]
    recording.close()
    session = read_session(tmp_path / "session.sqlite")
    read = np.concatenate([chunk.raw for chunk in session.chunks()])
    assert read.tobytes() == noise(500).raw.tobytes()
    assert is_whole(session.path)


def test_a_file_that_is_held_to_the_end_is_an_error_in_a_sentence(
    place: Place, tmp_path: Path
) -> None:
    place.hold_next()
    recording = begun(tmp_path)
    with pytest.raises(RecordError, match="another program holds the file"):
        recording.close(timeout_s=0.3)
    place.release()


def test_training_goes_on_while_the_disk_refuses_and_the_whole_is_proved_in_the_end(
    place: Place, tmp_path: Path
) -> None:
    place.hold_next()
    outlets, said = Outlets(), list[str]()
    before: list[int] = []
    clock = ScriptedClock()

    def script() -> Iterator[SourceMessage | None]:
        yield Opened(INFO)
        yield Segment(0.0, "start")
        chunks = chunks_of(rhythm(32.0))
        for number, chunk in enumerate(chunks):
            if number == len(chunks) // 2:
                before.append(sum(isinstance(event, PointEarned) for event in outlets.events))
                place.release()
            yield Data(chunk)

    result = run_session(
        ScriptedSource(script(), clock),
        PROTOCOL,
        Clinic(recordings=tmp_path),
        headless_seconds=30.0,
        publisher=outlets,
        clock=clock,
        say=said.append,
    )
    assert result.error is None
    assert before[0] > 3 and len(result.points) > before[0]
    assert not any(isinstance(event, HoldOff) for event in outlets.events)
    assert result.recording is not None
    session = read_session(result.recording)
    assert session.points() == result.points
    assert verify(session).proved
