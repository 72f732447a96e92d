"""A recording proves its points, and whoever tampers with it is found out."""

import json
import shutil
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from engine.errors import RecordError
from engine.session import recording_tables as tables
from engine.session.asks import AskRound
from engine.session.recording_reader import read_session
from engine.session.verification import Proof, verify
from tests.engine.session.examples import chunks_of, rhythm
from tests.engine.session.killing import killed_session
from tests.engine.session.recorded import LONG, begun_live, recorded_session


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return recorded_session(tmp_path_factory.mktemp("whole"))


def tampered(whole: Path, folder: Path, tamper: Callable[[tables.Connection], object]) -> Proof:
    """Verify a copy in which something was changed by hand."""
    path = folder / whole.name
    path.parent.mkdir(exist_ok=True)
    shutil.copyfile(whole, path)
    with closing(tables.connect(path)) as connection:
        tamper(connection)
    return verify(read_session(path))


def payload(connection: tables.Connection, kind: str, place: int) -> tuple[int, dict[str, object]]:
    """Return (position, values) of one event, the first of its kind being 0."""
    rows = connection.execute(
        "SELECT position, payload FROM event WHERE kind = ? ORDER BY position", (kind,)
    ).fetchall()
    position, text = rows[place]
    return position, json.loads(text)


def rewritten(
    connection: tables.Connection, kind: str, place: int, **values: object
) -> dict[str, object]:
    """Change an event in the recording; return it as it was."""
    position, before = payload(connection, kind, place)
    text = json.dumps({**before, **values})
    connection.execute("UPDATE event SET payload = ? WHERE position = ?", (text, position))
    return before


def test_a_recording_is_proved_to_the_last_tick(whole: Path) -> None:
    session = read_session(whole)
    proof = verify(session)
    assert proof.proved and not proof.cut_off
    assert proof.n_points == len(session.points()) > 5
    assert proof.n_ticks == sum(len(ticks.states) for ticks in session.ticks()) == 34 * 50
    assert proof.n_filters == len(session.taps())
    assert proof.seconds == 34.0


def test_a_point_taken_out_is_found(whole: Path, tmp_path: Path) -> None:
    def tamper(connection: tables.Connection) -> None:
        position, _ = payload(connection, "PointEarned", 3)
        connection.execute("DELETE FROM event WHERE position = ?", (position,))

    proof = tampered(whole, tmp_path, tamper)
    point = read_session(whole).points()[3]
    assert proof.difference is not None
    assert (proof.difference.what, proof.difference.time_s) == ("point 4", point.onset_s)
    assert proof.difference.came.startswith("point 4 at")
    assert proof.n_points == 3


def test_the_last_point_taken_out_is_found(whole: Path, tmp_path: Path) -> None:
    def tamper(connection: tables.Connection) -> None:
        position, _ = payload(connection, "PointEarned", -1)
        connection.execute("DELETE FROM event WHERE position >= ?", (position,))

    assert not tampered(whole, tmp_path, tamper).proved


@pytest.mark.parametrize("moved", [{"tick": 1}, {"sample": 1}, {"onset_s": 1e-9}, {"number": 1}])
def test_a_point_moved_by_the_least_is_found(
    whole: Path, tmp_path: Path, moved: dict[str, float]
) -> None:
    def tamper(connection: tables.Connection) -> None:
        ((key, by),) = moved.items()
        _, before = payload(connection, "PointEarned", 2)
        rewritten(connection, "PointEarned", 2, **{key: float(str(before[key])) + by})

    proof = tampered(whole, tmp_path, tamper)
    assert proof.difference is not None and proof.difference.what == "point 3"


def test_a_point_that_nobody_earned_is_found(whole: Path, tmp_path: Path) -> None:
    def tamper(connection: tables.Connection) -> None:
        _, values = payload(connection, "PointEarned", -1)
        values["number"] = int(str(values["number"])) + 1
        row = (10_000, 8499, "PointEarned", json.dumps(values), "2026-11-25T11:00:00+00:00")
        connection.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?)", row)

    proof = tampered(whole, tmp_path, tamper)
    assert proof.difference is not None and proof.difference.came == "nothing"


def test_a_nudge_with_another_value_is_found(whole: Path, tmp_path: Path) -> None:
    proof = tampered(whole, tmp_path, lambda c: rewritten(c, "Nudge", 0, value=4.0))
    assert proof.difference is not None
    assert proof.difference.what == "a nudge taking effect"
    assert "new 3.9" in proof.difference.logged and "new 4.0" in proof.difference.came


def test_a_nudge_out_of_range_is_a_difference_and_no_crash(whole: Path, tmp_path: Path) -> None:
    proof = tampered(whole, tmp_path, lambda c: rewritten(c, "Nudge", 0, value=-1.0))
    assert proof.difference is not None and proof.difference.what == "an input"


def test_one_sample_changed_by_a_thousandth_of_a_microvolt_is_found(
    whole: Path, tmp_path: Path
) -> None:
    def tamper(connection: tables.Connection) -> None:
        first, dtype, raw = connection.execute(
            "SELECT first_sample, dtype, raw FROM block WHERE first_sample > 1000 LIMIT 1"
        ).fetchone()
        values = np.frombuffer(raw, dtype).copy()
        values[20] += 0.001
        connection.execute(
            "UPDATE block SET raw = ? WHERE first_sample = ?", (values.tobytes(), first)
        )

    proof = tampered(whole, tmp_path, tamper)
    assert proof.difference is not None
    assert proof.difference.what.startswith("the amplitudes at tick")


@pytest.mark.parametrize(
    ("column", "words"), [("states", "the state at tick"), ("reasons", "the state at tick")]
)
def test_a_state_or_reason_changed_is_found(
    whole: Path, tmp_path: Path, column: str, words: str
) -> None:
    def tamper(connection: tables.Connection) -> None:
        first, blob = connection.execute(
            f"SELECT first_tick, {column} FROM ticks WHERE first_tick > 300 LIMIT 1"
        ).fetchone()
        changed = bytes([blob[0] - 1 if blob[0] else 1]) + blob[1:]
        connection.execute(f"UPDATE ticks SET {column} = ? WHERE first_tick = ?", (changed, first))

    proof = tampered(whole, tmp_path, tamper)
    assert proof.difference is not None and proof.difference.what.startswith(words)


def test_other_taps_are_found_before_anything_else(whole: Path, tmp_path: Path) -> None:
    def tamper(connection: tables.Connection) -> None:
        name, dtype, taps = connection.execute(
            "SELECT name, dtype, taps FROM filter WHERE name LIKE 'estimator%' LIMIT 1"
        ).fetchone()
        changed = np.frombuffer(taps, dtype) * 1.000001
        connection.execute("UPDATE filter SET taps = ? WHERE name = ?", (changed.tobytes(), name))

    proof = tampered(whole, tmp_path, tamper)
    assert proof.difference is not None
    assert proof.difference.what.startswith("the filter estimator") and proof.n_ticks == 0


def test_samples_taken_out_are_no_recording(whole: Path, tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="are not there"):
        tampered(
            whole,
            tmp_path,
            lambda c: c.execute("DELETE FROM block WHERE first_sample = 0"),
        )


def test_filters_tuned_at_a_round_are_proved_too(tmp_path: Path) -> None:
    live = begun_live(tmp_path, replace(LONG, estimator="tuned"))
    live.segment(0.0, "start")
    for chunk in chunks_of(rhythm(70.0), size=250):
        live.data(chunk)

    live.round(AskRound("start"))
    for chunk in chunks_of(rhythm(5.0, seed=1), size=250, first_s=70.0):
        live.data(chunk)
    live.recording.meta("ended", "operator")
    live.recording.close()
    assert live.recording.path is not None
    session = read_session(live.recording.path)
    assert any("from tick" in name for name in session.taps())
    proof = verify(session)
    assert proof.proved and proof.n_filters == len(session.taps())


@pytest.mark.parametrize("seed", range(3))
def test_what_a_kill_leaves_is_proved(seed: int, tmp_path: Path) -> None:
    path, acknowledged = killed_session(tmp_path, seed)
    session = read_session(path)
    proof = verify(session)
    assert proof.difference is None
    assert proof.cut_off and session.n_samples >= acknowledged


def test_limits_set_on_the_way_are_proved_and_one_changed_by_hand_is_found(tmp_path: Path) -> None:
    live = begun_live(tmp_path)
    live.segment(0.0, "start")
    live.round(AskRound("start"))
    for number, chunk in enumerate(chunks_of(rhythm(12.0))):
        if number == 100:
            live.limit("clearness.muscle", 0.5, "check")
        live.data(chunk)
    live.recording.close()
    assert live.recording.path is not None
    proof = verify(read_session(live.recording.path))
    assert proof.proved and proof.n_ticks == 12 * 50

    def tamper(connection: tables.Connection) -> None:
        rewritten(connection, "LimitSet", 0, value=0.6)

    changed = tampered(live.recording.path, tmp_path / "copy", tamper)
    assert changed.difference is not None
    assert changed.difference.what == "a limit taking effect"
