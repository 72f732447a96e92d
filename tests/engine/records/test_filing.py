"""Recordings filed: what the records then know, however often and in whatever order."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from engine.errors import ConfigError, RecordError
from engine.practice.care import SensorSet
from engine.records import tables as t
from engine.records.clients import clients
from engine.records.consents import last_consent
from engine.records.effects import due_followups
from engine.records.filing import file_recording
from engine.records.heads import last_head
from engine.records.notes import amend, lock_note, notes, write_note
from engine.records.opening import Records, open_records
from engine.records.plans import last_plan
from engine.records.rebuilding import catch_up, rebuild
from engine.records.sensors import sensor_sets
from engine.records.sessions import last_session, sessions
from engine.session.last_time import as_it_was
from engine.session.recorded_course import recorded_course
from tests.engine.records.visits import CONSENT, FIRST, SECOND, recorded_visit

DERIVED = (
    t.visit, t.session, t.session_band, t.session_round, t.adverse, t.follow_up, t.plan, t.wear,
    t.head, t.consent,
)  # fmt: skip


def everything(records: Records) -> dict[str, list[dict[str, Any]]]:
    """Return all that was derived, without numbers of rows and moments of filing."""
    found = {}
    with records.reading() as connection:
        for table in DERIVED:
            rows = [dict(row._mapping) for row in connection.execute(select(table))]
            for row in rows:
                row.pop("filed_utc", None)
                row.pop("kept_utc", None)
                if isinstance(row.get("id"), int):
                    row.pop("id")
            found[table.name] = sorted(rows, key=repr)
    return found


@pytest.fixture
def filed(records: Records, shelf: Path) -> Records:
    for stem in (FIRST, SECOND):
        assert file_recording(records, shelf / f"{stem}.sqlite") == stem
    return records


def test_the_client_comes_from_the_card_in_the_recording(filed: Records) -> None:
    (client,) = clients(filed)
    assert (client.code, client.identifier, client.card) == (
        "HERON-07",
        "born 1987",
        {"hand": "left"},
    )
    assert client.n_sessions == 2 and client.last_utc.startswith("2026-11-26T11:00")


def test_a_session_is_what_its_recording_came_to(filed: Records, shelf: Path) -> None:
    first, second = sessions(filed, "heron-07")
    course = recorded_course(shelf / f"{FIRST}.sqlite")
    assert (first.id, first.number, first.operator, first.visit) == (
        FIRST,
        1,
        "MK",
        "20261125-104000-HERON-07",
    )
    assert first.points == len(course.points_s) > 3
    assert first.settings["smr.threshold"] == 3.5
    assert first.clear_s == pytest.approx(12.5, abs=0.2)
    assert second.scale == "rms" and second.points == first.points


def test_scales_are_kept_apart_by_keeping_all_in_peak(filed: Records) -> None:
    first, second = sessions(filed)
    for ours, theirs in zip(first.bands, second.bands, strict=True):
        assert ours.mean_uv and theirs.mean_uv
        assert theirs.mean_uv == pytest.approx(ours.mean_uv)
        assert theirs.threshold_uv == pytest.approx(ours.threshold_uv)
        assert theirs.before_uv == pytest.approx(ours.before_uv)
        # a sine of 1 µV peak is 1/sqrt(2) µV rms and 2 µV peak-to-peak
        assert ours.on("rms").mean_uv == pytest.approx(ours.mean_uv / math.sqrt(2))
        assert ours.on("peak-to-peak").mean_uv == pytest.approx(2 * ours.mean_uv)
    assert second.settings["smr.threshold"] == pytest.approx(3.5 / math.sqrt(2))


def test_the_last_session_is_continued_from(filed: Records) -> None:
    last = last_session(filed, "HERON-07", "smr_c4")
    assert last is not None and last.session == SECOND and last.scale == "rms"
    assert dict(as_it_was(last, "peak"))["smr.threshold"] == pytest.approx(3.5, abs=0.01)
    assert set(dict(last.baseline_uv)) == {"theta", "smr"} and last.rate
    assert last_session(filed, "HERON-07", "other") is None
    assert last_session(filed, "HERON-07", "smr_c4", site="Pz") is None
    with pytest.raises(ConfigError, match="'NOBODY'"):
        last_session(filed, "NOBODY", "smr_c4")


def test_what_was_written_down_is_found_again(filed: Records) -> None:
    kept = last_consent(filed, "HERON-07")
    assert kept is not None and kept.consent == CONSENT and kept.screening == {"seizures": "no"}
    plan, head = last_plan(filed, "HERON-07"), last_head(filed, "HERON-07")
    assert plan is not None and plan.words == "same again, a longer hold"
    assert head is not None and head["circumference_cm"] == 56.0
    assert sensor_sets(filed) == (SensorSet("gold A", 2),)


def test_an_effect_is_asked_about_until_it_is_settled(records: Records, shelf: Path) -> None:
    file_recording(records, shelf / f"{FIRST}.sqlite")
    (due,) = due_followups(records, "HERON-07")
    assert (due.id, due.what, due.severity) == (f"{FIRST}:1", "headache", "mild")
    file_recording(records, shelf / f"{SECOND}.sqlite")
    assert due_followups(records, "HERON-07") == ()


def test_an_effect_that_was_only_marked_is_asked_about_too(
    records: Records, tmp_path: Path
) -> None:
    path = recorded_visit(tmp_path / "r", entries=[("adverse", {"marked": True})])
    file_recording(records, path)
    (due,) = due_followups(records, "HERON-07")
    assert due.what == "marked, and not described"


def test_filing_twice_or_backwards_or_rebuilding_changes_nothing(
    filed: Records, shelf: Path, tmp_path: Path
) -> None:
    once = everything(filed)
    file_recording(filed, shelf / f"{FIRST}.sqlite")
    assert everything(filed) == once
    assert rebuild(filed, shelf).filed == (FIRST, SECOND)
    assert everything(filed) == once

    backwards = open_records(tmp_path / "other.sqlite")
    for stem in (SECOND, FIRST):
        file_recording(backwards, shelf / f"{stem}.sqlite")
    assert everything(backwards) == once
    fresh = open_records(tmp_path / "fresh.sqlite")
    assert catch_up(fresh, shelf).filed == (FIRST, SECOND)
    assert everything(fresh) == once
    assert catch_up(fresh, shelf).filed == ()


def test_notes_survive_a_rebuilding(filed: Records, shelf: Path) -> None:
    write_note(filed, FIRST, "went well", "MK")
    rebuild(filed, shelf)
    assert [note.words for note in notes(filed, FIRST)] == ["went well"]


def test_a_recording_that_cannot_be_read_is_said_and_changes_nothing(
    filed: Records, tmp_path: Path
) -> None:
    before = everything(filed)
    broken = tmp_path / "shelf2" / f"{FIRST}.sqlite"
    broken.parent.mkdir()
    broken.write_bytes(b"SQLite format 3\0" + b"\0" * 3000)
    with pytest.raises(RecordError):
        file_recording(filed, broken)
    (trouble,) = rebuild(filed, broken.parent).troubles
    assert "cannot be read" in trouble
    assert everything(filed) == before


def test_a_session_without_a_client_is_filed_with_nobody(records: Records, tmp_path: Path) -> None:
    file_recording(records, recorded_visit(tmp_path / "r", None))
    (session,) = sessions(records)
    assert (session.client, session.number) == ("", None)
    assert clients(records) == ()


def test_encrypted_recordings_are_filed_with_the_passphrase_of_the_records(tmp_path: Path) -> None:
    records = open_records(tmp_path / "records.sqlite", "secret")
    file_recording(records, recorded_visit(tmp_path / "r", passphrase="secret"))
    assert [client.code for client in clients(records)] == ["HERON-07"]


def test_a_locked_note_is_amended_and_never_overwritten(records: Records) -> None:
    with pytest.raises(ConfigError, match="not locked"):
        amend(records, FIRST, "more", "MK")
    write_note(records, FIRST, "draft", "MK")
    write_note(records, FIRST, "went well", "MK")
    lock_note(records, FIRST)
    with pytest.raises(ConfigError, match="was locked on"):
        write_note(records, FIRST, "went badly", "XY")
    amend(records, FIRST, "a headache came later", "XY")
    first, second = notes(records, FIRST)
    assert (first.words, first.operator, first.amends) == ("went well", "MK", False)
    assert (second.words, second.operator, second.amends) == ("a headache came later", "XY", True)
    assert first.locked_utc and second.locked_utc
