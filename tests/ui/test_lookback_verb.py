"""`nudgeline lookback`: a note to read, or an object that agrees with what was recorded."""

import json
from pathlib import Path

import pytest

from engine.events import PointEarned
from engine.lookback.progress_note import progress_note
from engine.lookback.review import review
from engine.session.recorded_course import recorded_course
from engine.session.recording_reader import read_session
from tests.engine.session.recorded import recorded_session
from ui.command_line import main
from ui.verbs.filing import filed


def test_a_recording_is_looked_back_on(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = recorded_session(tmp_path)
    earned = sum(isinstance(e, PointEarned) for e in read_session(path).events())
    assert main(["lookback", str(path), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["whole"]["points"] == earned > 5
    assert sum(piece["points"] for piece in found["rounds"]) == earned
    assert found["whole"]["rate"] == pytest.approx(earned / found["whole"]["clear_s"] * 60)
    assert set(found["changes"]) == set(found["whole"]["mean_uv"])
    assert found["changes"]["smr"]["within"]["verdict"] == "too few"
    assert found["client_words"][0].endswith(f"and earned {earned} points.")

    assert main(["lookback", str(path)]) == 0
    out, err = capsys.readouterr()
    course = recorded_course(path)
    assert out == progress_note(review(course)) == found["note"]
    assert err == ""


def test_an_unknown_session_is_wrong_input(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["lookback", "20250101-000000-none"]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and "session ID" in err


def test_a_kept_note_is_locked_and_only_added_to(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = recorded_session(tmp_path)
    assert filed([path], "") == []
    course = recorded_course(path)
    locked = progress_note(review(course))
    assert main(["lookback", str(path)]) == 0
    assert capsys.readouterr().out == locked

    assert main(["lookback", str(path), "--amend", "slept badly, said later", "--by", "MK"]) == 0
    assert capsys.readouterr().err == f"Added to the note of {path.stem}.\n"
    assert filed([path], "") == []  # filed once more, nothing is overwritten
    assert main(["lookback", str(path)]) == 0
    out = capsys.readouterr().out
    assert out.startswith(locked) and out.endswith(" by MK\nslept badly, said later\n")


@pytest.mark.parametrize(
    ("given", "named"), [(["--amend", " ", "--by", "MK"], "--amend"), (["--amend", "x"], "--by")]
)
def test_an_amendment_needs_words_and_a_name(
    given: list[str], named: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = recorded_session(tmp_path)
    assert main(["lookback", str(path), *given]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and named in err
