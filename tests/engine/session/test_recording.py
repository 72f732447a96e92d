import os
import time
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.chunk import Chunk, chunk_of
from engine.errors import RecordError
from engine.events import (
    HoldOff,
    HoldOffEnd,
    Input,
    Nudge,
    PointEarned,
    Reason,
    RoundStart,
    SegmentStart,
    State,
    StateChanged,
    Tick,
)
from engine.session import recording_tables as tables
from engine.session.recording import Recording
from engine.session.recording_reader import read_session
from tests.engine.session.examples import INFO, PROTOCOL, noise
from tests.engine.session.limits import no_file_longer_than


def begun(folder: Path) -> Recording:
    recording = Recording(folder, "session")
    recording.begin(PROTOCOL, INFO, "0.1.0", {"tick_s": 0.02, "delays": [["filter", 0.2]]})
    return recording


def path_of(recording: Recording) -> Path:
    assert recording.path is not None
    return recording.path


def tick(number: int, state: State, reasons: tuple[Reason, ...] = ()) -> Tick:
    sample = 5 * number + 4
    values = (number + 0.1, number / 3)
    return Tick(
        number, sample, sample / 250, values, values, (True, False), state, reasons, 0.0, 0.5
    )


def test_what_was_recorded_is_read_back(tmp_path: Path) -> None:
    recording = begun(tmp_path)
    recording.anchor(12.5)
    recording.clock_offset(12.6, None)
    recording.clock_offset(17.6, -0.25)
    start, point = SegmentStart(0, 0.0), PointEarned(1, 9, 9 / 250, 1)
    changed = StateChanged(1, 9, 0.036, State.OBSCURED, (Reason.FLAT, Reason.GUARD))
    recording.event(start)
    recording.samples(0, noise(10))
    recording.ticks(tick(0, State.HOLDING), tick(1, State.OBSCURED, changed.reasons))
    recording.event(point)
    recording.event(changed)
    recording.taps("theta", np.array([1 + 2j, 0.5]))
    recording.meta("ended", "operator")
    recording.close()

    session = read_session(path_of(recording))
    assert session.protocol == PROTOCOL
    assert session.info == INFO
    assert (session.program, session.ended, session.n_samples) == ("0.1.0", "operator", 10)
    assert session.plan == {"tick_s": 0.02, "delays": [["filter", 0.2]]}
    assert session.anchors[0][0] == 12.5
    assert session.clock_offsets == ((12.6, None), (17.6, -0.25))
    assert session.points() == (point,)
    assert list(session.events()) == [start, point, changed]
    (ticks,) = session.ticks()
    assert ticks.samples.tolist() == [4, 9]
    assert ticks.fast_uv.tolist() == [[0.1, 0.0], [1.1, 1 / 3]]
    assert ticks.states == (State.HOLDING, State.OBSCURED)
    assert ticks.reasons == ((), changed.reasons)
    assert session.taps()["theta"].tolist() == [1 + 2j, 0.5]


def test_a_closed_recording_is_one_plain_file(tmp_path: Path) -> None:
    recording = begun(tmp_path)
    recording.samples(0, noise(100))
    recording.close()
    recording.close()
    assert [path.name for path in tmp_path.iterdir()] == ["session.sqlite"]
    assert recording.saved == (100, 0)


chunks_or_inputs = st.lists(
    st.one_of(
        st.tuples(st.integers(0, 7), st.sampled_from(["<f4", "<f8", "<i2", "<i4"]), st.booleans()),
        st.sampled_from(["segment", "round", "off", "on", "nudge"]),
    ),
    max_size=30,
)


def fed_to(recording: Recording, script: list[tuple[int, str, bool] | str]) -> list[Chunk | Input]:
    """Record what ``script`` says, and return it."""
    fed: list[Chunk | Input] = []
    sample = 0
    for number, item in enumerate(script):
        if isinstance(item, str):
            choices: dict[str, Input] = {
                "segment": SegmentStart(sample, sample / 250, "gap"),
                "round": RoundStart(sample, number),
                "off": HoldOff(sample, "stream lost"),
                "on": HoldOffEnd(sample, "stream lost"),
                "nudge": Nudge(sample, "smr.threshold", 0.1 * number + 0.1),
            }
            made = choices[item]
            recording.event(made)
            fed.append(made)
        else:
            n, dtype, stamped = item
            raw = (1000 * np.random.default_rng(number).standard_normal((n, 2))).astype(dtype)
            stamps = np.arange(float(n)) if stamped else None
            chunk = chunk_of(raw, INFO.to_uv, stamps, 1.5 * number)
            recording.samples(sample, chunk)
            fed.append(chunk)
            sample += n
    return fed


def flat(fed: list[Chunk | Input]) -> list[object]:
    """Samples one by one, with their type and stamp, and inputs between them."""
    items: list[object] = []
    for item in fed:
        if isinstance(item, Chunk):
            stamps = item.stamps_s.tolist() or [None] * item.n_samples
            rows = zip(item.raw, item.samples_uv, stamps, strict=True)
            items += [(row.dtype, row.tobytes(), uv.tobytes(), stamp) for row, uv, stamp in rows]
        else:
            items.append(item)
    return items


@given(script=chunks_or_inputs)
def test_the_pipeline_is_fed_again_exactly_as_it_was(
    script: list[tuple[int, str, bool] | str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    recording = begun(tmp_path_factory.mktemp("recording"))
    fed = fed_to(recording, script)
    recording.close()
    session = read_session(path_of(recording))
    assert flat(list(session.inputs())) == flat(fed)
    received = [c for c in fed if isinstance(c, Chunk) and c.n_samples]
    assert [(c.arrival_s, c.raw.tobytes()) for c in session.chunks()] == [
        (c.arrival_s, c.raw.tobytes()) for c in received
    ]


def test_a_running_recording_is_not_read(tmp_path: Path) -> None:
    recording = begun(tmp_path)
    assert recording.flush()
    with pytest.raises(RecordError, match="still being written"):
        read_session(path_of(recording))
    recording.close()


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such limit")
def test_a_full_disk_is_told_at_once_and_nothing_is_lost_when_there_is_room(tmp_path: Path) -> None:
    recording = begun(tmp_path)
    recording.samples(0, noise(500, seed=1))
    assert recording.flush()
    with no_file_longer_than(200_000):
        recording.samples(500, noise(50_000, seed=2))
        assert not recording.flush(timeout_s=0.5)
        (remark,) = recording.take_remarks()
        assert remark.grave
        assert "cannot be written" in remark.text
        assert recording.fault == remark.text
        assert recording.saved[0] == 500
        recording.samples(50_500, noise(10, seed=3))
    assert recording.flush()
    assert [remark.grave for remark in recording.take_remarks()] == [False]
    assert (recording.fault, recording.saved[0]) == ("", 50_510)
    recording.close()
    read = np.concatenate([chunk.raw for chunk in read_session(path_of(recording)).chunks()])
    parts = [noise(500, seed=1), noise(50_000, seed=2), noise(10, seed=3)]
    assert read.tobytes() == b"".join(part.raw.tobytes() for part in parts)


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such limit")
def test_closing_on_a_full_disk_says_so_and_harms_nothing(tmp_path: Path) -> None:
    recording = begun(tmp_path)
    recording.samples(0, noise(500, seed=1))
    assert recording.flush()
    with no_file_longer_than(200_000):
        recording.samples(500, noise(50_000, seed=2))
        with pytest.raises(RecordError, match="cannot be written"):
            recording.close(timeout_s=0.3)
    session = read_session(path_of(recording))
    assert (session.n_samples, session.ended) == (500, "")


def test_a_folder_that_cannot_be_made_is_told_and_the_recording_starts_when_it_can(
    tmp_path: Path,
) -> None:
    folder = tmp_path / "recordings"
    folder.write_text("a file stands where the folder should be")
    recording = begun(folder)
    recording.samples(0, noise(10))
    assert not recording.flush(timeout_s=0.3)
    assert recording.path is None
    assert [remark.grave for remark in recording.take_remarks()] == [True]
    folder.unlink()
    assert recording.flush()
    recording.close()
    assert read_session(path_of(recording)).n_samples == 10


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps an open file")
def test_a_recording_deleted_while_it_runs_goes_on_as_a_whole_copy(tmp_path: Path) -> None:
    recording = begun(tmp_path)
    recording.samples(0, noise(10, seed=1))
    assert recording.flush()
    for path in tmp_path.iterdir():
        path.unlink()
    recording.samples(10, noise(10, seed=2))
    assert recording.flush()
    (remark,) = recording.take_remarks()
    assert "moved or deleted" in remark.text
    recording.close()
    read = np.concatenate([chunk.raw for chunk in read_session(path_of(recording)).chunks()])
    assert read.tobytes() == noise(10, seed=1).raw.tobytes() + noise(10, seed=2).raw.tobytes()


@pytest.mark.parametrize("kept", [0, 1, 100, 4096, 5000, 8192, 20_000])
def test_a_file_cut_short_is_refused_in_a_sentence(kept: int, tmp_path: Path) -> None:
    recording = begun(tmp_path)
    recording.samples(0, noise(5000))
    recording.event(SegmentStart(0, 0.0))
    recording.close()
    whole = path_of(recording).read_bytes()
    assert len(whole) > 20_000
    short = tmp_path / "short.sqlite"
    short.write_bytes(whole[:kept])
    with pytest.raises(RecordError, match=r"short\.sqlite cannot be read"):
        list(read_session(short).inputs())


def test_what_is_no_recording_is_refused_in_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="does not exist"):
        read_session(tmp_path / "none.sqlite")
    other = tmp_path / "other.sqlite"
    other.write_text("some text, and not a database at all" * 100)
    with pytest.raises(RecordError, match="cannot be read"):
        read_session(other)


def test_a_session_cut_off_before_anything_was_written_is_said_to_be_empty(tmp_path: Path) -> None:
    path = tables.create_file(tmp_path, "session")
    tables.close(tables.connect(path))
    with pytest.raises(RecordError, match="is empty"):
        read_session(path)


def test_handing_over_never_waits_for_the_disk(tmp_path: Path) -> None:
    recording = begun(tmp_path / "file" / "in the way")
    (tmp_path / "file").write_text("")
    started = time.monotonic()
    for number in range(1000):
        recording.samples(5 * number, noise(5))
    assert time.monotonic() - started < 2.0
    with pytest.raises(RecordError):
        recording.close(timeout_s=0.0)
