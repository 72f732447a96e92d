"""What an exported file says, read by edfio and by MNE, neither of which wrote the recording."""

import os
import stat
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from pathlib import Path

import edfio
import mne
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.chunk import Chunk, StreamInfo
from engine.errors import RecordError
from engine.events import Entry, PointEarned, RoundStart, SegmentStart, StateChanged
from engine.export.edf import write_edf
from engine.export.edf_header import LONGEST_TEXT, record_length
from engine.pipeline import Pipeline
from engine.session.recording import Recording
from engine.session.recording_reader import RecordedSession, read_session
from engine.stream.files import iter_chunks, open_recording
from tests.engine.session.examples import INFO, PROTOCOL, chunks_of, rhythm
from tests.engine.session.recorded import BEGAN, STEM, begun_live, recorded_session

Change = Callable[[np.ndarray], np.ndarray]


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> RecordedSession:
    return read_session(recorded_session(tmp_path_factory.mktemp("recording")))


@pytest.fixture(scope="module")
def written(session: RecordedSession, tmp_path_factory: pytest.TempPathFactory) -> Path:
    (path,) = write_edf(session, tmp_path_factory.mktemp("edf")).paths
    return path


def samples_uv(session: RecordedSession) -> np.ndarray:
    return np.concatenate([chunk.samples_uv for chunk in session.chunks()])


def sampled(folder: Path, change: Change, info: StreamInfo = INFO) -> RecordedSession:
    """Record 21 s of changed samples without a gap, and points that nothing earned."""
    recording = Recording(folder, STEM)
    recording.begin(PROTOCOL, info, "0.1.0", {})
    recording.event(SegmentStart(0, 0.0))
    place = 0
    for chunk in chunks_of(change(rhythm(21.0, sfreq=info.sfreq)), size=100):
        recording.samples(place, chunk)
        place += chunk.n_samples
    for number in (1, 2, 3):
        sample = 617 * number
        recording.event(PointEarned(sample // 5, sample, sample / info.sfreq, number))
    recording.close()
    return read_session(folder / f"{STEM}.sqlite")


def test_every_sample_is_there_to_half_a_step(session: RecordedSession, written: Path) -> None:
    file = edfio.read_edf(written)
    uv = samples_uv(session)
    assert file.labels == ("C4", "A2")
    for signal, column in zip(file.signals, uv.T, strict=True):
        assert signal.physical_dimension == "uV"
        step = (signal.physical_max - signal.physical_min) / 65535
        assert step < 0.001
        before, after = signal.data[:5000], signal.data[5375:8875]
        np.testing.assert_allclose(before, column[:5000], atol=0.501 * step)
        np.testing.assert_allclose(after, column[5000:], atol=0.501 * step)


def test_a_gap_is_filled_with_the_last_value_and_marked(
    session: RecordedSession, written: Path
) -> None:
    file = edfio.read_edf(written)
    for signal in file.signals:
        assert set(signal.digital[5000:5375]) == {signal.digital[4999]}
        assert set(signal.digital[8875:]) == {signal.digital[8874]}
    gaps = [a for a in file.annotations if "gap, nothing" in a.text]
    assert [(a.onset, a.duration) for a in gaps] == [(20.0, 1.5)]
    fill = [a for a in file.annotations if "fill" in a.text]
    assert [(a.onset, a.duration) for a in fill] == [(35.5, 0.5)]
    assert file.reserved == "EDF+C"


def test_every_event_is_an_annotation_at_its_moment(
    session: RecordedSession, written: Path
) -> None:
    annotations = edfio.read_edf(written).annotations
    events = list(session.events())
    points = [a for a in annotations if a.text.startswith("point ")]
    earned = [e for e in events if isinstance(e, PointEarned)]
    assert [a.text for a in points] == [f"point {e.number}" for e in earned]
    assert [a.onset for a in points] == pytest.approx([e.onset_s for e in earned], abs=1e-6)
    # Beside the events stand the resolution and the fill at the end.
    assert len(annotations) == len(events) + 2
    at = {a.text: (a.onset, a.duration) for a in annotations}
    assert at["round 1"] == (0.0, 35.5)
    assert at["note: =said that it is quiet; µV and ü"] == (8.04, None)
    assert at["nudge of smr.threshold to 3.9 µV by key"] == (8.04, None)
    assert at["the stream is lost (cable)"] == (20.0, None)
    assert at["the stream is back (the same amplifier)"] == (20.0, None)


def test_states_last_until_the_next_one(session: RecordedSession, written: Path) -> None:
    changes = [e for e in session.events() if isinstance(e, StateChanged)]
    words = ("bad: obscured", "holding", "waiting", "quiet", "stopped")
    states = [a for a in edfio.read_edf(written).annotations if a.text.startswith(words)]
    assert len(states) == len(changes)
    for state, following in pairwise(states):
        assert state.duration is not None
        assert state.onset + state.duration == pytest.approx(following.onset)


def test_mne_reads_the_same_samples_annotations_and_client(
    session: RecordedSession, written: Path
) -> None:
    raw = mne.io.read_raw_edf(written, preload=True, verbose="error")
    file = edfio.read_edf(written)
    assert raw.ch_names == ["C4", "A2"]
    assert raw.info["sfreq"] == 250.0
    mine = np.stack([signal.data for signal in file.signals])
    np.testing.assert_allclose(raw.get_data() * 1e6, mine, atol=1e-6)
    assert len(raw.annotations) == len(file.annotations)
    for theirs, ours in zip(raw.annotations, file.annotations, strict=True):
        assert theirs["onset"] == pytest.approx(ours.onset, abs=1e-6)
        assert theirs["duration"] == pytest.approx(ours.duration or 0.0, abs=1e-6)
    assert sorted(raw.annotations.description) == sorted(a.text for a in file.annotations)
    assert raw.info["subject_info"]["his_id"] == "HERON-07"


def test_mne_leaves_gaps_and_hidden_signal_out_by_itself(written: Path) -> None:
    raw = mne.io.read_raw_edf(written, preload=True, verbose="error")
    epochs = mne.make_fixed_length_epochs(raw, 1.0, preload=True, verbose="error")
    kept = epochs.events[:, 0] / 250
    # The gap is at 20 to 21.5 s, and what follows it settles until 23.7 s.
    assert not any(19.1 < second < 23.7 for second in kept)
    assert 24 in kept and 10 in kept


def test_the_header_names_the_session_and_of_the_client_the_code_alone(written: Path) -> None:
    file = edfio.read_edf(written)
    assert file.local_patient_identification == "HERON-07 X X X"
    assert file.recording.hospital_administration_code == STEM
    assert file.recording.equipment_code == "Nudgeline_0.1.0"
    assert file.startdatetime == BEGAN.astimezone().replace(tzinfo=None)
    assert b"Person" not in written.read_bytes()


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps no such permissions")
def test_the_file_is_private_and_nothing_is_left_beside_it(written: Path) -> None:
    assert stat.S_IMODE(written.stat().st_mode) == 0o600
    assert [path.name for path in written.parent.iterdir()] == [f"{STEM}.edf"]


def test_another_export_takes_the_place_of_the_first(
    session: RecordedSession, tmp_path: Path
) -> None:
    first = write_edf(session, tmp_path).paths[0].read_bytes()
    assert write_edf(session, tmp_path).paths[0].read_bytes() == first
    assert len(list(tmp_path.iterdir())) == 1


def test_scored_again_it_gives_the_points_of_the_session(
    session: RecordedSession, written: Path
) -> None:
    file = open_recording(written)
    pipeline = Pipeline(session.protocol, file.info.ch_names, file.info.sfreq)
    pipeline.apply(RoundStart(0))
    outputs = [o for item in iter_chunks(file, 500) if isinstance(item, Chunk)
               for o in pipeline.feed(item)]  # fmt: skip
    # Until the nudge at 8 s, which the file holds as words only.
    points = [o.sample for o in outputs if isinstance(o, PointEarned) and o.onset_s < 8]
    assert points == [point.sample for point in session.points() if point.onset_s < 8] != []


def test_missing_values_are_held_and_marked(tmp_path: Path) -> None:
    def change(raw: np.ndarray) -> np.ndarray:
        raw[:3, 0] = np.nan
        raw[1000:1008, 0] = np.nan
        raw[1004:1030, 1] = np.inf
        return raw

    session = sampled(tmp_path, change)
    (path,) = write_edf(session, tmp_path).paths
    file = edfio.read_edf(path)
    c4, a2 = (signal.digital for signal in file.signals)
    assert set(c4[1000:1008]) == {c4[999]} and set(a2[1004:1030]) == {a2[1003]}
    step = (file.signals[0].physical_max - file.signals[0].physical_min) / 65535
    np.testing.assert_allclose(file.signals[0].data[:3], 0, atol=0.51 * step)
    there = np.isfinite(samples_uv(session)[:5000, 0])
    np.testing.assert_allclose(
        file.signals[0].data[:5000][there], samples_uv(session)[:5000, 0][there], atol=0.51 * step
    )
    missing = [a for a in file.annotations if "missing on" in a.text]
    assert [(a.onset, a.duration, a.text[-2:]) for a in missing] == [
        (0.0, 0.012, "C4"),
        (4.0, 0.032, "C4"),
        (4.016, 0.104, "A2"),
    ]


def test_an_offset_of_100_mv_costs_no_resolution(tmp_path: Path) -> None:
    session = sampled(tmp_path, lambda raw: raw + np.float32(100_000))
    (path,) = write_edf(session, tmp_path).paths
    signal = edfio.read_edf(path).signals[0]
    np.testing.assert_allclose(signal.data[:5000], samples_uv(session)[:5000, 0], atol=0.001)


def test_what_16_bits_would_make_coarse_is_written_with_24(tmp_path: Path) -> None:
    def drifting(raw: np.ndarray) -> np.ndarray:
        """From -100 to 100 mV, as far as a DC amplifier lets an electrode drift."""
        return raw.astype(float) + np.linspace(-1e5, 1e5, raw.shape[0])[:, None]

    session = sampled(tmp_path, drifting)
    result = write_edf(session, tmp_path)
    (path,) = result.paths
    assert path.suffix == ".bdf" and "24 bits" in result.remarks[-1]
    assert result.step_uv == pytest.approx(2e5 / 2**24, rel=0.01)
    file = edfio.read_bdf(path)
    np.testing.assert_allclose(
        file.signals[0].data[:5000], samples_uv(session)[:5000, 0], atol=0.51 * result.step_uv
    )
    raw = mne.io.read_raw_bdf(path, preload=True, verbose="error")
    assert sorted(raw.annotations.description) == sorted(a.text for a in file.annotations)
    np.testing.assert_allclose(
        raw.get_data()[:, :5000].T * 1e6, samples_uv(session)[:5000], atol=0.02
    )


def test_a_channel_beyond_ten_volts_is_left_out_and_named(tmp_path: Path) -> None:
    def with_counter(raw: np.ndarray) -> np.ndarray:
        raw = raw.astype(float)
        raw[:, 1] = 1e12 + np.arange(raw.shape[0])
        return raw

    session = sampled(tmp_path, with_counter)
    result = write_edf(session, tmp_path)
    file = edfio.read_edf(result.paths[0])
    assert file.labels == ("C4",)
    assert "channel A2 left out" in result.remarks[0]
    assert any("channel A2 left out" in a.text for a in file.annotations)


def test_after_a_long_gap_another_file_begins(tmp_path: Path) -> None:
    session = read_session(recorded_session(tmp_path, gap_s=3600.0))
    first, second = write_edf(session, tmp_path / "out").paths
    assert second.name == f"{STEM}-part-2.edf"
    one, two = edfio.read_edf(first), edfio.read_edf(second)
    assert (one.duration, two.duration) == (20.0, 14.0)
    assert two.startdatetime - one.startdatetime == timedelta(seconds=3620)
    points = [a.text for file in (one, two) for a in file.annotations if "point " in a.text]
    assert points == [f"point {point.number}" for point in session.points()]
    later = [p.onset_s - 3620 for p in session.points() if p.onset_s > 20]
    assert [a.onset for a in two.annotations if "point " in a.text] == pytest.approx(later)
    assert [(a.onset, a.duration) for a in two.annotations if "round 1" in a.text] == [(0.0, 14.0)]
    uv = samples_uv(session)
    np.testing.assert_allclose(two.signals[0].data[:3500], uv[5000:, 0], atol=0.001)


@pytest.mark.parametrize("sfreq", [128.0, 244.03, 1000 / 3, 499.97])
def test_a_rate_that_the_header_cannot_say_is_met_nearly(sfreq: float, tmp_path: Path) -> None:
    session = sampled(tmp_path, lambda raw: raw, replace(INFO, sfreq=sfreq))
    (path,) = write_edf(session, tmp_path).paths
    file = edfio.read_edf(path)
    signal = file.signals[0]
    assert signal.sampling_frequency == pytest.approx(sfreq, rel=1e-6)
    step = (signal.physical_max - signal.physical_min) / 65535
    n = round(20 * sfreq)
    np.testing.assert_allclose(signal.data[:n], samples_uv(session)[:n, 0], atol=0.51 * step)
    points = [a.onset * signal.sampling_frequency for a in file.annotations if "point" in a.text]
    assert points == pytest.approx([617, 1234, 1851], abs=0.01)


@given(sfreq=st.floats(128.0, 4096.0))
def test_the_header_is_never_far_from_the_rate(sfreq: float) -> None:
    n, seconds = record_length(sfreq)
    assert len(str(seconds)) <= 8
    assert n / seconds == pytest.approx(sfreq, rel=1e-6)


def test_labels_and_client_codes_are_made_to_fit_the_header(tmp_path: Path) -> None:
    names = ("EEG C4 µ, the right hand", "EEG C4 µ, the right ear")
    recording = Recording(tmp_path, STEM)
    recording.begin(PROTOCOL, replace(INFO, ch_names=names), "0.1.0", {})
    recording.event(Entry(0, 0.0, "visit", {"client": "HÉRON 07"}))
    for number, chunk in enumerate(chunks_of(rhythm(1.0))):
        recording.samples(10 * number, chunk)
    recording.close()
    session = read_session(tmp_path / f"{STEM}.sqlite")
    file = edfio.read_edf(write_edf(session, tmp_path).paths[0])
    assert file.labels == ("EEG C4 _, the ri", "EEG C4 _, the ~2")
    assert file.patient.code == "H_RON_07"
    assert any(
        a.text == "the session was cut off; this is what was saved" for a in file.annotations
    )


def test_a_long_note_is_cut_and_control_letters_are_taken_out(tmp_path: Path) -> None:
    live = begun_live(tmp_path)
    live.segment(0.0, "start")
    live.note("one\ntwo\x14three\x00 " + "long " * 100)
    for chunk in chunks_of(rhythm(2.0)):
        live.data(chunk)
    live.recording.close()
    session = read_session(tmp_path / f"{STEM}.sqlite")
    (note,) = [
        a.text
        for a in edfio.read_edf(write_edf(session, tmp_path).paths[0]).annotations
        if a.text.startswith("note")
    ]
    assert note.startswith("note: one two three  long") and note.endswith("…")
    assert len(note) == LONGEST_TEXT


def test_a_recording_without_samples_is_refused_in_a_sentence(tmp_path: Path) -> None:
    recording = Recording(tmp_path, STEM)
    recording.begin(PROTOCOL, INFO, "0.1.0", {})
    recording.close()
    with pytest.raises(RecordError, match="holds no samples"):
        write_edf(read_session(tmp_path / f"{STEM}.sqlite"), tmp_path)


def test_a_file_that_does_not_read_back_is_not_kept(
    session: RecordedSession, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    earlier = write_edf(session, tmp_path).paths[0].read_bytes()
    to_bytes = edfio.Edf.to_bytes

    def spoilt(self: edfio.Edf) -> bytes:
        whole = bytearray(to_bytes(self))
        whole[-3000] ^= 1
        return bytes(whole)

    monkeypatch.setattr("engine.export.edf.Edf.to_bytes", spoilt)
    with pytest.raises(RecordError, match="does not read back"):
        write_edf(session, tmp_path)
    assert [path.read_bytes() for path in tmp_path.iterdir()] == [earlier]
