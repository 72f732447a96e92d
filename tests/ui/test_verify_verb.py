"""`nudgeline verify`: its three statuses, and what it says."""

import json
from contextlib import closing
from pathlib import Path

import pytest

from engine.session import recording_tables as tables
from tests.engine.session.recorded import recorded_session
from ui.command_line import main


def test_a_recording_is_proved_and_a_tampered_one_is_not(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = recorded_session(tmp_path)
    assert main(["verify", str(path), "--json"]) == 0
    out, _ = capsys.readouterr()
    proof = json.loads(out)
    assert (proof["proved"], proof["difference"], proof["cut_off"]) == (True, None, False)
    assert proof["points"] > 5 and proof["seconds"] == 34.0

    assert main(["verify", str(path)]) == 0
    out, _ = capsys.readouterr()
    assert out.startswith(f"Proved: from 0.6 min of signal {proof['points']} points")

    with closing(tables.connect(path)) as connection:
        connection.execute(
            "DELETE FROM event WHERE position = "
            "(SELECT min(position) FROM event WHERE kind = 'PointEarned')"
        )
    assert main(["verify", str(path)]) == 1
    out, _ = capsys.readouterr()
    assert "Not proved: point 1 at" in out and "came:   point 1 at" in out

    assert main(["verify", str(path), "--json"]) == 1
    out, _ = capsys.readouterr()
    difference = json.loads(out)["difference"]
    assert set(difference) == {"time_s", "what", "logged", "came"}


def test_an_unknown_session_is_wrong_input(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", "20250101-000000-none"]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and "session ID" in err
