"""The whole export, and what happens where it cannot be written: the recording is never harmed."""

import os
import stat
from pathlib import Path

import pytest

from engine.errors import RecordError
from engine.export.session import export_all
from engine.session.recording import Recording
from engine.session.recording_reader import read_session
from engine.session.verification import verify
from tests.engine.session.examples import INFO, PROTOCOL
from tests.engine.session.killing import killed_session
from tests.engine.session.limits import no_file_longer_than
from tests.engine.session.recorded import STEM, begun_live, recorded_session

FILES = [f"{STEM}.edf", *(f"{STEM}-{t}.csv" for t in ("points", "seconds", "events", "settings"))]


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return recorded_session(tmp_path_factory.mktemp("recording"))


def test_one_call_writes_everything(recording: Path, tmp_path: Path) -> None:
    before = recording.read_bytes()
    exported = export_all(recording, tmp_path / "out")
    assert [path.name for path in exported.paths] == FILES
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted(FILES)
    assert recording.read_bytes() == before
    if os.name != "nt":
        assert stat.S_IMODE((tmp_path / "out").stat().st_mode) == 0o700


def test_what_a_kill_leaves_can_be_exported(tmp_path: Path) -> None:
    path, _ = killed_session(tmp_path, seed=77)
    exported = export_all(path, tmp_path / "out")
    assert len(exported.paths) == 5


def test_an_encrypted_recording_is_exported_with_its_passphrase_alone(tmp_path: Path) -> None:
    path = recorded_session(tmp_path, passphrase="a passphrase")
    with pytest.raises(RecordError, match="encrypted"):
        export_all(path, tmp_path / "out")
    assert not (tmp_path / "out").exists()
    assert len(export_all(path, tmp_path / "out", "a passphrase").paths) == 5


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such limit")
def test_a_full_disk_is_said_and_leaves_the_earlier_export_and_the_recording(
    recording: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    earlier = {path: path.read_bytes() for path in export_all(recording, out).paths}
    before = recording.read_bytes()
    with (
        no_file_longer_than(2_000),
        pytest.raises(RecordError, match=r"\.edf cannot be written: the disk is full; free some"),
    ):
        export_all(recording, out)
    assert {path: path.read_bytes() for path in out.iterdir()} == earlier
    assert recording.read_bytes() == before
    assert verify(read_session(recording)).proved


def test_a_folder_that_cannot_be_made_is_said(recording: Path, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file stands where the folder should be")
    with pytest.raises(RecordError, match=r"\.edf cannot be written.*its recording is whole"):
        export_all(recording, tmp_path / "out")


def test_a_read_only_folder_is_said(
    recording: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> int:
        raise PermissionError(13, "Permission denied")

    # Who runs the tests may be one whom no permission holds back.
    monkeypatch.setattr("engine.export.aside.os.open", refused)
    with pytest.raises(RecordError, match="the place is read-only; make it writable"):
        export_all(recording, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_where_one_kind_fails_the_other_is_still_written(tmp_path: Path) -> None:
    recording = Recording(tmp_path, STEM)
    recording.begin(PROTOCOL, INFO, "0.1.0", {})
    recording.close()
    with pytest.raises(RecordError, match="holds no samples"):
        export_all(tmp_path / f"{STEM}.sqlite", tmp_path / "out")
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted(FILES[1:])


def test_a_running_session_is_not_exported_and_goes_on(tmp_path: Path) -> None:
    live = begun_live(tmp_path)
    live.segment(0.0, "start")
    assert live.recording.flush()
    path = tmp_path / f"{STEM}.sqlite"
    with pytest.raises(RecordError, match="still being written"):
        export_all(path, tmp_path / "out")
    live.note("training goes on")
    assert live.recording.flush() and not live.recording.fault
    live.recording.close()
