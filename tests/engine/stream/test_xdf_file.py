"""XDF files read raw, with holes and clock resets as segments."""

from __future__ import annotations

import gzip
from pathlib import Path

import numpy as np
import pytest

from engine.errors import ConfigError, SourceError
from engine.stream.files import open_recording
from tests.engine.stream.xdf_writer import XdfStream, write_xdf

STAMPS = 500.0 + np.arange(1000) / 250.0
NOISE = np.random.default_rng(0).normal(0.0, 10.0, (1000, 2))


def stream(name: str = "amplifier", **changes: object) -> XdfStream:
    values: dict[str, object] = {
        "samples": NOISE, "stamps_s": STAMPS, "labels": ("C4", "Cz"), "units": ("uV", "mV"),
    }  # fmt: skip
    return XdfStream(name, **{**values, **changes})  # type: ignore[arg-type]


def test_samples_labels_and_units_read_as_written(tmp_path: Path) -> None:
    recorded = open_recording(write_xdf(tmp_path / "a.xdf", stream()))
    np.testing.assert_array_equal(recorded.segments[0].raw, NOISE.astype(np.float32))
    np.testing.assert_array_equal(recorded.segments[0].stamps_s, STAMPS)
    assert recorded.info.ch_names == ("C4", "Cz")
    assert recorded.info.to_uv == (1.0, 1000.0)
    assert recorded.info.sfreq == 250.0
    assert recorded.remarks == ()


def test_a_packed_file_reads_as_the_plain_one(tmp_path: Path) -> None:
    plain = write_xdf(tmp_path / "a.xdf", stream())
    packed = tmp_path / "a.xdfz"
    packed.write_bytes(gzip.compress(plain.read_bytes()))
    one, other = (open_recording(path).segments[0].raw for path in (plain, packed))
    np.testing.assert_array_equal(one, other)


def test_whole_numbers_stay_whole_numbers(tmp_path: Path) -> None:
    path = write_xdf(tmp_path / "a.xdf", stream(channel_format="int16"))
    assert open_recording(path).segments[0].raw.dtype == np.int16


def test_labels_and_units_that_are_missing_are_asked_for(tmp_path: Path) -> None:
    path = write_xdf(tmp_path / "a.xdf", stream(labels=(), units=()))
    with pytest.raises(ConfigError, match="--unit"):
        open_recording(path)
    assert open_recording(path, unit="uV").info.ch_names == ("1", "2")


def test_several_eeg_streams_are_asked_for_by_name(tmp_path: Path) -> None:
    path = write_xdf(tmp_path / "a.xdf", stream("left"), stream("right"))
    with pytest.raises(ConfigError, match=r"'left' \(1\), 'right' \(2\).*--stream"):
        open_recording(path)
    assert open_recording(path, stream="right").info.name == "right"
    assert open_recording(path, stream="1").info.name == "left"
    with pytest.raises(ConfigError, match="--stream is 'middle'"):
        open_recording(path, stream="middle")


def test_the_eeg_stream_is_picked_among_others(tmp_path: Path) -> None:
    path = write_xdf(tmp_path / "a.xdf", stream("belt", kind="Respiration"), stream())
    assert open_recording(path).info.name == "amplifier"


def test_a_file_without_eeg_names_what_it_holds(tmp_path: Path) -> None:
    path = write_xdf(tmp_path / "a.xdf", stream("belt", kind="Respiration"))
    with pytest.raises(SourceError, match=r"no stream of type EEG .*'belt'"):
        open_recording(path)
    assert open_recording(path, stream="belt").n_samples == 1000


def test_an_eeg_stream_without_samples_is_one_sentence(tmp_path: Path) -> None:
    empty = stream(samples=np.zeros((0, 2)), stamps_s=np.zeros(0))
    with pytest.raises(SourceError, match="holds 0 samples"):
        open_recording(write_xdf(tmp_path / "a.xdf", empty))


def test_a_stream_without_a_regular_rate_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SourceError, match="no regular rate"):
        open_recording(write_xdf(tmp_path / "a.xdf", stream(nominal_sfreq=0.0)))


def test_the_rate_recorded_is_used_where_it_is_not_the_nominal_one(tmp_path: Path) -> None:
    slow = stream(stamps_s=500.0 + np.arange(1000) / 180.0)
    recorded = open_recording(write_xdf(tmp_path / "a.xdf", slow))
    assert recorded.info.nominal_sfreq == 250.0
    assert recorded.info.sfreq == pytest.approx(180.0)
    assert "180 Hz" in recorded.remarks[0]


def test_a_hole_becomes_a_segment_at_its_time(tmp_path: Path) -> None:
    stamps = STAMPS.copy()
    stamps[400:] += 12.5
    recorded = open_recording(write_xdf(tmp_path / "a.xdf", stream(stamps_s=stamps)))
    assert [len(s.raw) for s in recorded.segments] == [400, 600]
    assert recorded.segments[1].start_s == pytest.approx(400 / 250 + 12.5, abs=1e-6)


def test_a_clock_reset_is_placed_by_the_recorders_own_clock(tmp_path: Path) -> None:
    """The stream's clock falls back by 600 s while 30 s pass for the recorder."""
    stamps = STAMPS.copy()
    stamps[400:] += 30.0 - 600.0
    clock = tuple((float(s), 7.0) for s in STAMPS[:400:100])
    clock += tuple((float(s), 607.0) for s in stamps[400::100])
    path = write_xdf(tmp_path / "a.xdf", stream(stamps_s=stamps, clock=clock))
    recorded = open_recording(path)
    assert recorded.segments[1].start_s == pytest.approx(400 / 250 + 30.0, abs=1e-6)
    assert "set anew" in recorded.segments[1].why


def test_a_clock_that_falls_back_without_a_measurement_goes_on_at_once(tmp_path: Path) -> None:
    stamps = STAMPS.copy()
    stamps[400:] -= 600.0
    recorded = open_recording(write_xdf(tmp_path / "a.xdf", stream(stamps_s=stamps)))
    assert recorded.segments[1].start_s == pytest.approx(400 / 250)
    assert "unknown" in recorded.segments[1].why


def test_a_file_cut_short_reads_what_is_whole_and_says_so(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    path = write_xdf(tmp_path / "a.xdf", stream())
    path.write_bytes(path.read_bytes()[:-1500])
    recorded = open_recording(path)
    assert recorded.n_samples == 900
    assert "damaged" in recorded.remarks[0]
    assert "Traceback" not in "".join(capfd.readouterr())


def test_a_chunk_that_lies_about_its_length_is_one_sentence(tmp_path: Path) -> None:
    """A length of zero bytes for a chunk that needs at least its tag makes pyxdf raise."""
    path = tmp_path / "a.xdf"
    path.write_bytes(b"XDF:\x01\x00\x01\x00")
    with pytest.raises(SourceError, match="damaged and cannot be read as XDF"):
        open_recording(path)
