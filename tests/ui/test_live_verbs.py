"""`replay` into `run` over LSL: points, and the same points again from the run's recording."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from engine.stream import network
from tests.ui.recordings import write_edf

ROOT = Path(__file__).parents[2]
SPEED = "8"


def environment(home: Path) -> dict[str, str]:
    return {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        network.SESSION_VARIABLE: network.new_session_id(),
        "XDG_DATA_HOME": str(home),
        "XDG_CONFIG_HOME": str(home),
    }


def started(env: dict[str, str], *arguments: str) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-m", "ui.command_line", *arguments],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=env,
        text=True,
        encoding="utf-8",
    )


def said(env: dict[str, str], *arguments: str) -> tuple[int, str, str]:
    process = started(env, *arguments)
    out, err = process.communicate(timeout=120)
    return process.returncode, out, err


@pytest.fixture(scope="module")
def edf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_edf(tmp_path_factory.mktemp("edf") / "client.edf", 100)


def test_a_replayed_recording_earns_points_and_its_own_recording_the_same(
    edf: Path, tmp_path: Path
) -> None:
    env = environment(tmp_path)
    replay = started(env, "replay", str(edf), "--speed", SPEED)
    try:
        status, out, err = said(
            env,
            *("run", "--protocol", "smr-up-c4", "--channel", "C4"),
            *("--headless", "--seconds", "80", "--json"),
        )
    finally:
        replay.terminate()
        replay.communicate(timeout=20)
    assert status == 0, err
    assert out.count("\n") == 1
    live = json.loads(out)
    assert len(live["points"]) > 5
    arguments = ["score", live["recording"], "--channel", "C4", "--protocol", "smr-up-c4"]
    status, out, err = said(env, *arguments, "--json")
    assert status == 0, err
    again = json.loads(out)
    assert again["points"] == live["points"]
    assert {key: live[key] for key in again} == again


def test_a_recording_that_ends_too_soon_is_a_failed_run(edf: Path, tmp_path: Path) -> None:
    env = environment(tmp_path)
    short = write_edf(tmp_path / "short.edf", 20)
    replay = started(env, "replay", str(short), "--channel", "C4", "--speed", "2")
    try:
        process = started(
            env, "run", "--protocol", "smr-up-c4", "--headless", "--seconds", "60", "--json"
        )
        out, err = process.communicate(timeout=120)
    finally:
        replay.terminate()
        replay.communicate(timeout=20)
    assert process.returncode == 1
    assert json.loads(out)["error"]
    assert "Traceback" not in err


def test_no_stream_is_a_failed_run_that_says_what_to_do(tmp_path: Path) -> None:
    status, out, err = said(
        environment(tmp_path), "run", "--protocol", "smr-up-c4", "--headless", "--seconds", "5"
    )
    assert status == 1
    assert "start the amplifier's program" in err and "Traceback" not in err
    assert out == ""
