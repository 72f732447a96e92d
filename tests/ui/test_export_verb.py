"""`nudgeline export`: which files, where, and what it says."""

import json
from pathlib import Path

import pytest

from tests.engine.session.recorded import STEM, recorded_session
from ui.command_line import main

KINDS = ("points", "seconds", "events", "settings")


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return recorded_session(tmp_path_factory.mktemp("recording"))


def test_both_kinds_go_into_a_folder_beside_the_recording(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["export", str(recording)]) == 0
    out, err = capsys.readouterr()
    folder = recording.parent / "exports"
    names = [f"{STEM}.edf", *(f"{STEM}-{kind}.csv" for kind in KINDS)]
    assert out.splitlines() == [str(folder / name) for name in names]
    assert err == ""


@pytest.mark.parametrize(("option", "n_files"), [("--edf", 1), ("--csv", 4)])
def test_one_kind_alone_into_a_folder_of_choice(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], option: str, n_files: int
) -> None:
    folder = tmp_path / "for the doctor"
    assert main(["export", str(recording), option, "--folder", str(folder), "--json"]) == 0
    out, _ = capsys.readouterr()
    said = json.loads(out)
    assert said["recording"] == str(recording)
    assert [Path(file) for file in said["files"]] == sorted(folder.iterdir(), key=_order)
    assert len(said["files"]) == n_files


def _order(path: Path) -> int:
    kinds = ["edf", *KINDS]
    return next(place for place, kind in enumerate(kinds) if kind in path.name)


def test_a_folder_that_cannot_be_written_is_one_sentence(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("")
    assert main(["export", str(recording), "--folder", str(tmp_path / "file" / "x")]) == 1
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and "cannot be written" in err


def test_an_unknown_session_is_wrong_input(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["export", "20250101-000000-none"]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and "session ID" in err
