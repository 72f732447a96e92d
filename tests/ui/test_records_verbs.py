"""`nudgeline sessions` and `nudgeline backup`: one line or one object, and the way back."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from engine.clinic import Clinic, load_clinic
from engine.records.opening import open_records, records_path
from engine.records.sessions import sessions
from engine.session import recording_tables
from engine.session.recording_reader import read_session
from tests.engine.records.visits import FIRST, LATER, SECOND, recorded_visit
from ui.command_line import main
from ui.verbs.passphrase import VARIABLE

Captured = pytest.CaptureFixture[str]


@pytest.fixture
def clinic(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Clinic]:
    """A clinic in a folder of its own, with two sessions of one client."""
    clinic = replace(load_clinic(), recordings=tmp_path / "clinic")
    for verb in ("sessions", "backup", "verify", "score"):
        monkeypatch.setattr(f"ui.verbs.{verb}.load_clinic", lambda: clinic, raising=False)
    monkeypatch.delenv(VARIABLE, raising=False)
    yield clinic


def object_of(captured: Captured) -> dict[str, Any]:
    out, _ = captured.readouterr()
    found: dict[str, Any] = json.loads(out)
    return found


def test_sessions_are_listed_and_those_that_are_new_are_filed(
    clinic: Clinic, capsys: Captured
) -> None:
    assert main(["sessions", "--json"]) == 0
    assert object_of(capsys)["sessions"] == []
    recorded_visit(clinic.recordings)
    recorded_visit(clinic.recordings, LATER, SECOND, scale="rms")
    assert main(["sessions", "--json"]) == 0
    found = object_of(capsys)["sessions"]
    assert [(s["id"], s["client"], s["number"]) for s in found] == [
        (FIRST, "HERON-07", 1),
        (SECOND, "HERON-07", 2),
    ]
    assert found[0]["points"] == found[1]["points"] and found[0]["points_per_minute"]
    ratio = found[1]["bands"][0]["mean_uv"] / found[0]["bands"][0]["mean_uv"]
    assert ratio == pytest.approx(2**-0.5)  # each on its protocol's scale

    assert main(["sessions", "--client", "heron-07", "--rebuild"]) == 0
    out, _ = capsys.readouterr()
    assert len(out.splitlines()) == 2 and out.startswith(f"{FIRST}  HERON-07 1  SMR up at C4 at C4")
    assert main(["sessions", "--client", "nobody"]) == 2
    _, err = capsys.readouterr()
    assert err.count("\n") == 1 and "client code" in err


def test_a_recording_that_cannot_be_read_is_said_and_the_rest_is_listed(
    clinic: Clinic, capsys: Captured
) -> None:
    path = recorded_visit(clinic.recordings)
    (path.parent / f"{SECOND}.sqlite").write_text("torn" * 500)
    assert main(["sessions", "--json"]) == 0
    out, err = capsys.readouterr()
    assert [s["id"] for s in json.loads(out)["sessions"]] == [FIRST]
    assert "cannot be read" in err and err.count("\n") == 1


def test_a_backup_holds_records_and_recordings_and_can_be_put_back(
    clinic: Clinic, capsys: Captured, tmp_path: Path
) -> None:
    path = recorded_visit(clinic.recordings)
    main(["sessions"])
    capsys.readouterr()
    safe = tmp_path / "safe"
    assert main(["backup", str(safe), "--json"]) == 0
    done = object_of(capsys)
    assert done["recordings"] == [FIRST]
    copy = read_session(safe / "recordings" / path.name)
    assert copy.points() == read_session(path).points()
    assert main(["backup", str(safe), "--json"]) == 0
    assert object_of(capsys)["recordings"] == []

    records_path(clinic).unlink()
    assert main(["backup", "--restore", done["records"], "--json"]) == 0
    assert object_of(capsys)["kept"] is None
    assert [s.id for s in sessions(open_records(records_path(clinic)))] == [FIRST]


@pytest.mark.parametrize(
    "options", [[], ["somewhere", "--restore", "file"], ["--restore", "nowhere.sqlite"]]
)
def test_a_backup_that_makes_no_sense_is_refused(
    clinic: Clinic, capsys: Captured, options: list[str]
) -> None:
    assert main(["backup", *options]) in (1, 2)
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1


def test_the_passphrase_comes_from_the_environment(
    clinic: Clinic, capsys: Captured, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(VARIABLE, "secret")
    path = recorded_visit(clinic.recordings, passphrase="secret")
    assert main(["sessions", "--json"]) == 0
    assert len(object_of(capsys)["sessions"]) == 1
    assert recording_tables.encrypted(records_path(clinic))
    assert main(["verify", str(path), "--json"]) == 0
    assert object_of(capsys)["proved"]
    assert main(["backup", str(tmp_path / "safe"), "--json"]) == 0
    saved = object_of(capsys)["records"]
    copies = [Path(saved), tmp_path / "safe" / "recordings" / path.name]
    assert all(recording_tables.encrypted(copy) for copy in copies)

    for wrong in ("wrong", ""):
        monkeypatch.setenv(VARIABLE, wrong)
        assert main(["sessions", "--json"]) == 1
        out, err = capsys.readouterr()
        assert out == "" and err.count("\n") == 1 and "passphrase" in err
