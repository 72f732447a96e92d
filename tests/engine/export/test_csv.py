"""Tables that a spreadsheet opens: what stands in them, and that nothing in them is run."""

import csv
import os
import stat
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.events import SettingChanged, StateChanged
from engine.export.csv import safe, write_tables
from engine.session.recording_reader import RecordedSession, read_session
from tests.engine.session.recorded import BEGAN, STEM, begun_live, recorded_session

Table = list[dict[str, str]]


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> RecordedSession:
    return read_session(recorded_session(tmp_path_factory.mktemp("recording")))


@pytest.fixture(scope="module")
def paths(session: RecordedSession, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    found = write_tables(session, tmp_path_factory.mktemp("tables"))
    return {path.stem.removeprefix(f"{STEM}-"): path for path in found}


def rows(path: Path) -> Table:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_there_are_four_tables_that_name_the_session(paths: dict[str, Path]) -> None:
    assert list(paths) == ["points", "seconds", "events", "settings"]
    assert all(path.name.startswith(STEM) for path in paths.values())
    assert all(path.read_bytes().startswith(b"\xef\xbb\xbf") for path in paths.values())


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps no such permissions")
def test_they_are_private(paths: dict[str, Path]) -> None:
    assert {stat.S_IMODE(path.stat().st_mode) for path in paths.values()} == {0o600}


def test_every_point_stands_with_its_moment_and_round(
    session: RecordedSession, paths: dict[str, Path]
) -> None:
    table = rows(paths["points"])
    points = session.points()
    assert [int(row["point"]) for row in table] == [point.number for point in points]
    assert [float(row["time_s"]) for row in table] == pytest.approx([p.onset_s for p in points])
    assert [int(row["sample"]) for row in table] == [point.sample for point in points]
    assert {row["round"] for row in table} == {"1"}
    first = datetime.fromisoformat(table[0]["time_of_day"])
    late = (first - BEGAN - timedelta(seconds=points[0].onset_s)).total_seconds()
    assert abs(late) < 0.001


def test_seconds_hold_amplitudes_thresholds_and_points(
    session: RecordedSession, paths: dict[str, Path]
) -> None:
    table = rows(paths["seconds"])
    assert list(table[0]) == [
        "time_s", "part", "theta_mean_uv_peak", "smr_mean_uv_peak", "theta_threshold_uv_peak",
        "smr_threshold_uv_peak", "theta_met_share", "smr_met_share", "clear_share", "points",
    ]  # fmt: skip
    by_second = {int(float(row["time_s"])): row for row in table}
    # 34 s of samples; the gap is from 20 to 21.5 s, so that second 20 holds none
    assert sorted(by_second) == [*range(20), *range(21, 36)]
    assert sum(int(row["points"]) for row in table) == len(session.points())
    # The signal is a sine of 8 µV at 13.5 Hz that comes and goes, and is there at 10 s.
    assert float(by_second[10]["smr_mean_uv_peak"]) == pytest.approx(8.0, abs=1.5)
    assert by_second[10]["clear_share"] == by_second[10]["smr_met_share"] == "1.0"
    assert (by_second[10]["part"], by_second[7]["smr_threshold_uv_peak"]) == ("round 1", "4.0")
    # The nudge is made at 8.04 s.
    assert by_second[9]["smr_threshold_uv_peak"] == "3.9"
    assert by_second[0]["smr_mean_uv_peak"] == "nan" and by_second[0]["clear_share"] == "0.0"


def test_every_event_is_a_row_and_says_who_did_it(
    session: RecordedSession, paths: dict[str, Path]
) -> None:
    table = rows(paths["events"])
    assert len(table) == len(list(session.events()))
    (note,) = [row for row in table if row["kind"] == "note"]
    assert (note["time_s"], note["by"]) == ("8.04", "AB")
    assert note["what"] == "note: =said that it is quiet; µV and ü"
    (nudge,) = [row for row in table if row["kind"] == "nudge"]
    assert (nudge["what"], nudge["by"]) == ("nudge of smr.threshold to 3.9 µV by key", "AB")
    (gap,) = [row for row in table if row["kind"] == "gap"]
    assert (gap["time_s"], gap["duration_s"]) == ("20.0", "1.5")
    states = [row for row in table if row["kind"] == "state"]
    changes = [event for event in session.events() if isinstance(event, StateChanged)]
    assert len(states) == len(changes)
    assert "Person" not in paths["events"].read_text(encoding="utf-8-sig")


def test_settings_stand_at_the_start_and_at_every_change(
    session: RecordedSession, paths: dict[str, Path]
) -> None:
    table = rows(paths["settings"])
    start = {row["setting"]: (row["value"], row["unit"]) for row in table if row["time_s"] == "0.0"}
    assert start["smr.threshold"] == ("4.0", "µV")
    assert start["smr.low"] == ("12.0", "Hz")
    assert start["hold"] == ("0.5", "s")
    assert start["site"] == ("C4", "")
    (change,) = [event for event in session.events() if isinstance(event, SettingChanged)]
    (row,) = [row for row in table if row["time_s"] != "0.0"]
    assert (row["setting"], row["value"], row["by"], row["how"]) == (
        "smr.threshold",
        "3.9",
        "AB",
        "key",
    )
    assert float(row["time_s"]) == pytest.approx(change.onset_s)


@pytest.mark.parametrize(
    "text",
    ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", " =1", "＝1", '=cmd|" /C calc"!A0'],
)
def test_what_a_spreadsheet_would_run_gets_an_apostrophe(text: str) -> None:
    assert safe(text).startswith("'") and safe(text).isprintable()


@given(text=st.text(max_size=30))
def test_no_text_begins_as_a_formula_or_breaks_a_line(text: str) -> None:
    cell = safe(text)
    assert not cell.lstrip().startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
    assert "\n" not in cell and "\r" not in cell and "\t" not in cell


def test_an_operators_formula_reaches_the_table_as_text(tmp_path: Path) -> None:
    """The client's code, the reason of a gap and the operator are texts too."""
    live = begun_live(tmp_path)
    live.describe('=HYPERLINK("http://127.0.0.1")')
    live.segment(0.0, "start")
    live.note("a line\nand =another")
    live.recording.close()
    (_, _, events, _) = write_tables(read_session(tmp_path / f"{STEM}.sqlite"), tmp_path)
    note = rows(events)[-1]
    assert note["by"] == '\'=HYPERLINK("http://127.0.0.1")'
    assert note["what"] == "note: a line and =another"
