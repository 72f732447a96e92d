"""A recording opens by what it is, and comes out in chunks that lose nothing."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from edfio import Edf, EdfSignal
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from engine.chunk import Chunk, StreamInfo
from engine.errors import ConfigError, NudgelineError
from engine.events import SegmentStart
from engine.stream.files import Recorded, RecordedSegment, iter_chunks, open_recording
from tests.engine.stream.xdf_writer import XdfStream, write_xdf

INFO = StreamInfo(
    name="a", kind="EEG", source_id="", uid="", hostname="", ch_names=("C4",), units=("mV",),
    to_uv=(1000.0,), nominal_sfreq=100.0, sfreq=100.0,
)  # fmt: skip


def recorded(*lengths: int) -> Recorded:
    places = np.cumsum([0, *lengths])
    segments = [
        RecordedSegment(10.0 * i, np.arange(first, first + n, dtype=float)[:, None])
        for i, (first, n) in enumerate(zip(places, lengths, strict=False))
    ]
    return Recorded(INFO, tuple(segments))


@given(st.lists(st.integers(1, 40), min_size=1, max_size=4), st.integers(1, 50))
def test_any_chunk_size_yields_every_sample_once_and_in_order(
    lengths: list[int], size: int
) -> None:
    items = list(iter_chunks(recorded(*lengths), size))
    chunks = [item for item in items if isinstance(item, Chunk)]
    samples = np.concatenate([chunk.samples_uv[:, 0] for chunk in chunks])
    np.testing.assert_array_equal(samples, 1000.0 * np.arange(sum(lengths)))
    assert max(chunk.n_samples for chunk in chunks) <= size


def test_each_segment_is_announced_at_its_sample_and_time() -> None:
    starts = [i for i in iter_chunks(recorded(5, 7, 2), 4) if isinstance(i, SegmentStart)]
    assert [(s.sample, s.start_s) for s in starts] == [(0, 0.0), (5, 10.0), (12, 20.0)]


def test_a_chunk_of_no_samples_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one sample"):
        next(iter_chunks(recorded(5), 0))


def test_a_file_that_does_not_exist_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match=r"does not exist.*check the name\.$"):
        open_recording(tmp_path / "none.edf")


@pytest.mark.parametrize(
    "content, what",
    [
        (b"", "is empty"),
        (b"PK\x03\x04 something else", "is neither EDF, BDF nor XDF"),
        (b"XDF:", "no stream of type EEG"),
        (b"0       " + b"nonsense" * 200, "damaged"),
        (b"\xffBIOSEMI" + b"\x00" * 3000, "damaged"),
        (b"\x1f\x8b not a gzip file at all", "damaged"),
    ],
)
def test_a_file_that_is_no_recording_is_one_sentence(
    tmp_path: Path, content: bytes, what: str
) -> None:
    path = tmp_path / "a.bin"
    path.write_bytes(content)
    with pytest.raises(NudgelineError, match=what) as caught:
        open_recording(path)
    assert "\n" not in str(caught.value)


@settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.sampled_from(["edf", "xdf"]),
    st.lists(st.tuples(st.integers(8, 5000), st.integers(0, 255)), max_size=6),
    st.integers(8, 6000),
)
def test_any_damage_is_read_or_said_in_one_sentence(
    tmp_path: Path, kind: str, changes: list[tuple[int, int]], length: int
) -> None:
    path = tmp_path / f"whole.{kind}"
    wave = np.sin(np.arange(500) / 4.0)
    if not path.exists() and kind == "edf":
        Edf([EdfSignal(wave, 250, label="C4", physical_dimension="uV")]).write(path)
    elif not path.exists():
        stream = XdfStream("a", wave[:, None], np.arange(500) / 250, labels=("C4",), units=("uV",))
        write_xdf(path, stream)
    content = bytearray(path.read_bytes())
    for place, value in changes:
        content[place % (len(content) - 8) + 8] = value
    damaged = tmp_path / "damaged"
    damaged.write_bytes(content[:length])
    try:
        assert open_recording(damaged).n_samples > 0
    except NudgelineError as error:
        assert "\n" not in str(error)


def test_a_folder_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(NudgelineError, match="cannot be read"):
        open_recording(tmp_path)
