"""`score` and `forecast`: what they print, exactly as the contract says, and how they refuse."""

import csv
import json
import math
from pathlib import Path
from typing import Any

import pytest

from tests.ui.recordings import SFREQ, write_edf
from ui.command_line import main

SECONDS = 150


@pytest.fixture(scope="module")
def edf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_edf(tmp_path_factory.mktemp("edf") / "client.edf", SECONDS)


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    status = main(list(arguments))
    out, err = capsys.readouterr()
    return status, out, err


def scored(capsys: pytest.CaptureFixture[str], edf: Path, *more: str) -> dict[str, object]:
    status, out, _ = said(
        capsys, "score", str(edf), "--channel", "C4", "--protocol", "smr-up-c4", "--json", *more
    )
    assert status == 0
    assert out.count("\n") == 1
    values: dict[str, object] = json.loads(out)
    return values


def test_the_json_holds_what_the_contract_names(
    capsys: pytest.CaptureFixture[str], edf: Path
) -> None:
    values = scored(capsys, edf)
    assert values["sfreq"] == SFREQ
    assert values["duration_s"] == SECONDS
    assert (values["scale"], values["estimator"]) == ("peak", "analytic-fir")
    assert (values["hold_s"], values["quiet_s"]) == (0.5, 1.0)
    conditions = values["conditions"]
    assert isinstance(conditions, list)
    assert [c["band"] for c in conditions] == ["theta", "smr", "high_beta"]
    names = {"low_hz", "high_hz", "direction", "threshold_uv", "mean_uv", "met_fraction"}
    assert all(names | {"averaging_s"} <= set(c) for c in conditions)
    points = values["points"]
    assert isinstance(points, list) and len(points) > 10
    assert points == sorted(points)
    minutes = values["points_per_minute"]
    assert minutes == [sum(60 * m <= p < 60 * m + 60 for p in points) for m in range(2)]
    assert 0 < float(str(values["obscured_fraction"])) < 0.5


def test_a_trace_has_a_row_a_tick_and_holds_every_point(
    capsys: pytest.CaptureFixture[str], edf: Path, tmp_path: Path
) -> None:
    trace = tmp_path / "trace.csv"
    values = scored(capsys, edf, "--trace", str(trace))
    with trace.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == ["time_s", "theta_uv", "smr_uv", "high_beta_uv", "state"]
    assert len(rows) == SECONDS * 50
    states = {row["time_s"]: row["state"] for row in rows}
    points = values["points"]
    assert isinstance(points, list)
    assert all(states[f"{onset:.6f}"] == "holding" for onset in points)


def test_settings_on_the_command_line_are_those_that_count(
    capsys: pytest.CaptureFixture[str], edf: Path
) -> None:
    plain = scored(capsys, edf)
    changed = scored(
        capsys,
        edf,
        *("--set", "theta.threshold=7.5"),
        *("--set", "smr.averaging=0"),
        *("--set", "hold=0.75"),
        *("--set", "quiet=2"),
    )
    conditions = changed["conditions"]
    assert isinstance(conditions, list)
    assert conditions[0]["threshold_uv"] == 7.5
    assert conditions[1]["averaging_s"] == 0
    assert (changed["hold_s"], changed["quiet_s"]) == (0.75, 2)
    assert len(str(changed["points"])) < len(str(plain["points"]))


def test_nothing_clear_is_null_and_not_a_number_that_is_not_one(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    values = scored(capsys, write_edf(tmp_path / "short.edf", 2))
    conditions = values["conditions"]
    assert isinstance(conditions, list)
    assert {c["mean_uv"] for c in conditions} == {None}
    assert values["rate"] is None
    assert values["points"] == [] and values["points_per_minute"] == []


def test_a_person_can_read_it_too(capsys: pytest.CaptureFixture[str], edf: Path) -> None:
    status, out, err = said(capsys, "score", str(edf), "--protocol", "smr-up-c4")
    assert status == 0 and err == ""
    assert "a minute (zone 10-15, ceiling 40)" in out
    assert "SMR 12-15 Hz above 2.2 µV peak" in out


@pytest.mark.parametrize(
    ("arguments", "status", "words"),
    [
        (["score", "nowhere.edf", "--protocol", "smr-up-c4"], 2, "does not exist"),
        (["score", "EDF", "--protocol", "nothing"], 2, "smr-up-c4"),
        (["score", "EDF", "--protocol", "smr-up-c4", "--channel", "X9"], 2, "EEG C4"),
        (["score", "EDF", "--protocol", "smr-up-c4", "--set", "smr.treshold=3"], 2, "hold, quiet"),
        (["score", "EDF", "--protocol", "smr-up-c4", "--set", "hold"], 2, "key=number"),
        (["score", "EDF", "--protocol", "smr-up-c4", "--set", "hold=nan"], 2, "key=number"),
        (["score", "EDF", "--protocol", "smr-up-c4", "--set", "hold=0"], 2, "0.02 to 10 s"),
        (["score", "EDF", "--protocol", "smr-up-c4", "--trace", "/no/where.csv"], 2, "--trace"),
        (["forecast", "EDF", "--protocol", "smr-up-c4", "--first", "0"], 2, "--first"),
        (["forecast", "EDF", "--protocol", "smr-up-c4", "--target", "0"], 2, "above 0 up to 40"),
        (["forecast", "EDF", "--protocol", "smr-up-c4", "--target", "41"], 2, "above 0 up to 40"),
        (["forecast", "EDF", "--protocol", "smr-up-c4", "--target", "nan"], 2, "above 0 up to 40"),
        (["forecast", "EDF", "--protocol", "smr-up-c4", "--share", "smr=60"], 2, "0.02 to 0.98"),
        (["forecast", "EDF", "--protocol", "smr-up-c4", "--share", "smr"], 2, "smr=0.6"),
        (["forecast", "EDF", "--protocol", "smr-up-c4", "--share", "alpha=0.6"], 2, "high_beta"),
        (
            [
                *[
                    "forecast",
                    "EDF",
                    "--protocol",
                    "smr-up-c4",
                    "--share",
                    "smr=0.6",
                    "--share",
                    "smr=0.5",
                ]
            ],
            2,
            "twice",
        ),
        (["replay", "EDF", "--speed", "0"], 2, "0.1 to 100"),
        (["demo", "--headless", "--seconds", "-5"], 2, "1 to 86400 s"),
        (["demo", "--headless", "--seconds", "abc"], 2, "a number is accepted"),
        (["demo", "--seed", "x"], 2, "a whole number is accepted"),
        (["score"], 2, "FILE, --protocol"),
        (["dance"], 2, "choose from"),
    ],
)
def test_wrong_input_is_one_sentence_and_its_status(
    capsys: pytest.CaptureFixture[str], edf: Path, arguments: list[str], status: int, words: str
) -> None:
    given = [str(edf) if a == "EDF" else a for a in arguments]
    found, out, err = said(capsys, *given)
    assert found == status
    assert out == ""
    assert words in err
    assert err.count("\n") == 1 and "Traceback" not in err


def test_a_forecast_has_one_step_each_way_sweeps_and_one_advice(
    capsys: pytest.CaptureFixture[str], edf: Path
) -> None:
    arguments = ["forecast", str(edf), "--channel", "C4", "--protocol", "smr-up-c4", "--json"]
    status, out, _ = said(capsys, *arguments, "--first", "90", "--set", "smr.threshold=3.2")
    values = json.loads(out)
    assert status == 0
    assert values["window_s"] == 90
    changes = [next(iter(s["change"].items())) for s in values["settings"]]
    for key, step in (("smr.threshold", 0.1), ("theta.threshold", 0.2), ("hold", 0.05)):
        now = {"smr.threshold": 3.2, "theta.threshold": 7.0, "hold": 0.5}[key]
        at = [value for k, value in changes if k == key]
        assert any(math.isclose(v, now - step) for v in at)
        assert any(math.isclose(v, now + step) for v in at)
    for band in ("theta", "smr", "high_beta"):
        assert sum(k == f"{band}.threshold" for k, _ in changes) >= 20
    assert all(0 <= s["low"] <= s["rate"] <= s["high"] <= 65 for s in values["settings"])
    advice = values["advice"]
    assert advice is not None and len(advice["change"]) == 1
    assert 10 <= advice["rate"] <= 15


def test_what_a_forecast_says_is_what_score_then_counts(
    capsys: pytest.CaptureFixture[str], edf: Path
) -> None:
    """The forecast of a setting over the whole file is the rate that the file scores with it."""
    arguments = ["forecast", str(edf), "--channel", "C4", "--protocol", "smr-up-c4", "--json"]
    _, out, _ = said(capsys, *arguments)
    settings = json.loads(out)["settings"]
    up = next(s for s in settings if s["change"] == {"hold": 0.55})
    values = scored(capsys, edf, "--set", "hold=0.55")
    assert up["rate"] == pytest.approx(float(str(values["rate"])), rel=0.02)


def test_too_little_clear_signal_is_null_with_a_reason(
    capsys: pytest.CaptureFixture[str], edf: Path
) -> None:
    arguments = ["forecast", str(edf), "--protocol", "smr-up-c4", "--json", "--first", "20"]
    _, out, _ = said(capsys, *arguments)
    values = json.loads(out)
    assert values["rate"] is None and values["advice"] is None
    assert "too little clear signal" in values["reason"]


def started(capsys: pytest.CaptureFixture[str], edf: Path, *more: str) -> dict[str, Any]:
    arguments = ["forecast", str(edf), "--channel", "C4", "--protocol", "smr-up-c4", "--json"]
    status, out, _ = said(capsys, *arguments, *more)
    assert status == 0
    start: dict[str, Any] = json.loads(out)["start"]
    return start


def test_starting_thresholds_give_the_target_and_score_counts_the_same(
    capsys: pytest.CaptureFixture[str], edf: Path
) -> None:
    start = started(capsys, edf, "--target", "12", "--share", "theta=0.7")
    assert start["target"] == 12
    assert start["rate"] == pytest.approx(12, abs=1)
    assert start["low"] <= start["rate"] <= start["high"]
    changes = start["change"]
    assert list(changes) == ["theta.threshold", "smr.threshold", "high_beta.threshold"]
    chosen = [word for key, value in changes.items() for word in ("--set", f"{key}={value}")]
    values = scored(capsys, edf, *chosen)
    assert start["rate"] == pytest.approx(float(str(values["rate"])), rel=0.02)
    conditions = values["conditions"]
    assert isinstance(conditions, list)
    met = {c["band"]: c["met_fraction"] for c in conditions}
    assert met["theta"] == pytest.approx(0.7, abs=0.02)
    assert met["high_beta"] == pytest.approx(0.8, abs=0.02)
    assert met == pytest.approx(start["shares"], abs=0.02)


def test_shares_without_a_target_are_kept_for_every_band(
    capsys: pytest.CaptureFixture[str], edf: Path
) -> None:
    start = started(capsys, edf, "--share", "smr=0.5", "--share", "high_beta=0.9")
    assert start["target"] is None
    wanted = {"theta": 0.8, "smr": 0.5, "high_beta": 0.9}
    assert start["shares"] == pytest.approx(wanted, abs=0.01)
    assert start["independent_rate"] > 0


def test_thresholds_are_proposed_only_when_asked_for_and_only_from_enough_signal(
    capsys: pytest.CaptureFixture[str], edf: Path
) -> None:
    assert started(capsys, edf) is None
    assert started(capsys, edf, "--target", "12", "--first", "20") is None


def test_starting_thresholds_can_be_read_with_what_independent_bands_would_give(
    capsys: pytest.CaptureFixture[str], edf: Path
) -> None:
    arguments = ["forecast", str(edf), "--protocol", "smr-up-c4", "--target"]
    _, out, _ = said(capsys, *arguments, "12")
    assert "Thresholds to start with for 12 a minute:" in out
    assert "theta.threshold" in out and "met 80% of the time" in out
    assert "if no band knew of another it would be" in out
    assert "Nearer is not possible" not in out
    _, out, _ = said(capsys, *arguments, "40")
    assert "Nearer is not possible with these shares" in out
