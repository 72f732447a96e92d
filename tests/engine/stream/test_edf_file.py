"""EDF, EDF+ and BDF read as edfio writes them and as MNE-Python reads them."""

from __future__ import annotations

from pathlib import Path

import mne
import numpy as np
import pytest
from edfio import Bdf, BdfSignal, Edf, EdfAnnotation, EdfSignal

from engine.chunk import Floats
from engine.errors import ConfigError, SourceError
from engine.stream.files import open_recording


def sine(sfreq: float, seconds: float, peak: float = 50.0) -> Floats:
    return np.asarray(peak * np.sin(20 * np.pi * np.arange(round(sfreq * seconds)) / sfreq))


def signal(
    label: str = "C4", unit: str = "uV", sfreq: float = 250, seconds: float = 6, peak: float = 50.0
) -> EdfSignal:
    return EdfSignal(
        sine(sfreq, seconds, peak), sfreq, label=label, physical_dimension=unit,
        physical_range=(-4.0 * peak, 4.0 * peak),
    )  # fmt: skip


def written(path: Path, *signals: EdfSignal, notes: bool = False) -> Path:
    annotations = [EdfAnnotation(1.0, None, "blink")] if notes else None
    Edf(list(signals), annotations=annotations).write(path)
    return path


def microvolts(path: Path, unit: str | None = None) -> Floats:
    recorded = open_recording(path, unit)
    return np.asarray(recorded.segments[0].raw, float) * recorded.info.to_uv


@pytest.mark.parametrize("unit, peak", [("uV", 50.0), ("mV", 0.05), ("V", 0.00005), ("nV", 5e4)])
def test_every_unit_of_voltage_reads_as_microvolts(tmp_path: Path, unit: str, peak: float) -> None:
    path = written(tmp_path / "a.edf", signal(unit=unit, peak=peak))
    np.testing.assert_allclose(microvolts(path)[:, 0], sine(250, 6), atol=0.05)


def test_edf_reads_as_mne_reads_it(tmp_path: Path) -> None:
    path = written(
        tmp_path / "a.edf", signal("C4"), signal("Cz", "mV", peak=0.2), notes=True
    )  # fmt: skip
    reference = mne.io.read_raw_edf(path, preload=True, verbose="error").get_data().T * 1e6
    np.testing.assert_allclose(microvolts(path), reference, rtol=1e-9, atol=1e-9)


def test_bdf_reads_as_mne_reads_it(tmp_path: Path) -> None:
    path = tmp_path / "a.bdf"
    Bdf([BdfSignal(sine(512, 4), 512, label="C4", physical_dimension="uV")]).write(path)
    reference = mne.io.read_raw_bdf(path, preload=True, verbose="error").get_data().T * 1e6
    np.testing.assert_allclose(microvolts(path), reference, rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(microvolts(path)[:, 0], sine(512, 4), atol=1e-4)


def test_the_header_gives_labels_rate_and_length(tmp_path: Path) -> None:
    path = written(tmp_path / "a.edf", signal("EEG C4-A1", sfreq=500), notes=True)
    recorded = open_recording(path)
    assert recorded.info.ch_names == ("EEG C4-A1",)
    assert recorded.info.sfreq == recorded.info.nominal_sfreq == 500.0
    assert recorded.duration_s == 6.0
    assert recorded.n_samples == 3000
    assert recorded.remarks == ()


def test_channels_at_another_rate_are_left_out_and_named(tmp_path: Path) -> None:
    path = written(tmp_path / "a.edf", signal("C3"), signal("Resp", sfreq=25), signal("C4"))
    recorded = open_recording(path)
    assert recorded.info.ch_names == ("C3", "C4")
    assert len(recorded.remarks) == 1
    assert "'Resp'" in recorded.remarks[0] and "25 Hz" in recorded.remarks[0]


def test_channels_that_are_no_voltage_are_left_out_and_named(tmp_path: Path) -> None:
    path = written(tmp_path / "a.edf", signal("C4"), signal("Temp", "degC"))
    recorded = open_recording(path)
    assert recorded.info.ch_names == ("C4",)
    assert "'Temp'" in recorded.remarks[0]


def test_no_unit_is_asked_for_never_guessed(tmp_path: Path) -> None:
    path = written(tmp_path / "a.edf", signal("C4", ""))
    with pytest.raises(ConfigError, match=r"missing.*--unit"):
        open_recording(path)
    np.testing.assert_allclose(microvolts(path, "mV")[:, 0], 1e3 * sine(250, 6), atol=50.0)
    assert open_recording(path, "mV").info.units == ("mV",)


def test_a_unit_that_is_none_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path / "a.edf", signal("C4", ""))
    with pytest.raises(ConfigError, match=r"--unit is 'furlong', but one of V, mV, µV, nV"):
        open_recording(path, "furlong")


def test_two_channels_of_one_name_are_numbered_and_said(tmp_path: Path) -> None:
    recorded = open_recording(written(tmp_path / "a.edf", signal("C4"), signal("C4")))
    assert recorded.info.ch_names == ("C4 #1", "C4 #2")
    assert "'C4'" in recorded.remarks[0]


def test_gaps_of_edf_plus_d_become_segments(tmp_path: Path) -> None:
    path = written(tmp_path / "a.edf", signal(), notes=True)
    content = path.read_bytes().replace(b"EDF+C", b"EDF+D")
    for record, onset in ((3, 7), (4, 8), (5, 9)):
        content = content.replace(b"+%d\x14\x14" % record, b"+%d\x14\x14" % onset)
    path.write_bytes(content)
    recorded = open_recording(path)
    assert [(s.start_s, len(s.raw)) for s in recorded.segments] == [(0.0, 750), (7.0, 750)]
    assert recorded.segments[1].why == "a hole of 4 s in the recording"
    assert recorded.duration_s == 10.0


@pytest.mark.parametrize("instead", [b"+1", b"xx"])
def test_records_with_no_sound_time_follow_each_other_and_it_is_said(
    tmp_path: Path, instead: bytes
) -> None:
    path = written(tmp_path / "a.edf", signal(), notes=True)
    path.write_bytes(path.read_bytes().replace(b"+3\x14\x14", instead + b"\x14\x14"))
    recorded = open_recording(path)
    assert [len(s.raw) for s in recorded.segments] == [1500]
    assert "no time or step back" in recorded.remarks[0]


def test_a_file_cut_short_reads_to_its_last_whole_record_and_says_so(tmp_path: Path) -> None:
    path = written(tmp_path / "a.edf", signal(), notes=True)
    path.write_bytes(path.read_bytes()[:-700])
    recorded = open_recording(path)
    assert recorded.duration_s == 4.0
    assert any("damaged" in remark for remark in recorded.remarks)


def test_a_file_whose_writer_was_killed_reads_what_is_there(tmp_path: Path) -> None:
    path = written(tmp_path / "a.edf", signal())
    content = bytearray(path.read_bytes())
    content[236:244] = b"-1      "
    path.write_bytes(content)
    assert open_recording(path).duration_s == 6.0


def test_a_header_without_samples_is_one_sentence(tmp_path: Path) -> None:
    path = written(tmp_path / "a.edf", signal())
    path.write_bytes(path.read_bytes()[:512])
    with pytest.raises(SourceError, match="choose another recording"):
        open_recording(path)
