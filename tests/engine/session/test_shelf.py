from datetime import UTC, datetime
from pathlib import Path

import pytest

from engine.errors import ConfigError, RecordError
from engine.events import Entry, PointEarned
from engine.session.recording import Recording
from engine.session.recording_reader import read_session
from engine.session.shelf import close_cut_off, cut_off, find_recording, recordings, saved
from tests.engine.session.examples import INFO, PROTOCOL, noise

OLD, NEW, DEMO = (
    "20261125-104547-smr-up-c4",
    "20261125-113000-theta-down",
    "20261125-120000-smr-up-c4",
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "demo").mkdir()
    for name in (f"{NEW}.sqlite", f"{OLD}.sqlite", f"demo/{DEMO}.sqlite", "records.sqlite"):
        (tmp_path / name).write_text("")
    return tmp_path


def recorded(folder: Path, stem: str = OLD, passphrase: str = "") -> Recording:
    """A session at 12:00 UTC that saved 5 s and a point, and is still open."""
    noon = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
    recording = Recording(folder, stem, passphrase=passphrase, utc=lambda: noon)
    recording.begin(PROTOCOL, INFO, "0.1.0", {})
    recording.anchor(100.0)
    recording.event(Entry(0, 0.0, "visit", {"client": "HERON-07", "number": 4}))
    recording.samples(0, noise(1250))
    recording.event(PointEarned(10, 54, 54 / 250, 1))
    assert recording.flush()
    return recording


def killed(folder: Path, stem: str = OLD, passphrase: str = "") -> Path:
    """The same as a kill leaves it: the file and its write-ahead log, held by nobody."""
    recording = recorded(folder / "elsewhere", stem, passphrase)
    assert recording.path is not None
    for name in (f"{stem}.sqlite", f"{stem}.sqlite-wal"):
        (folder / name).write_bytes((folder / "elsewhere" / name).read_bytes())
    recording.meta("ended", "operator")
    recording.close()
    return folder / f"{stem}.sqlite"


def test_recordings_stand_in_order_of_time_and_nothing_else_among_them(folder: Path) -> None:
    assert [path.stem for path in recordings(folder)] == [OLD, NEW, DEMO]
    assert recordings(folder / "nowhere") == ()


@pytest.mark.parametrize(
    ("asked", "stem"),
    [
        (OLD, OLD),
        (f"{OLD}.sqlite", OLD),
        ("20261125-10", OLD),
        ("20261125-12", DEMO),
        ("last", DEMO),
    ],
)
def test_a_recording_is_found_by_its_id_a_beginning_of_it_or_as_the_last(
    folder: Path, asked: str, stem: str
) -> None:
    assert find_recording(folder, asked).stem == stem


def test_a_path_is_taken_as_it_is(folder: Path) -> None:
    assert find_recording(folder, str(folder / "records.sqlite")) == folder / "records.sqlite"


def test_an_id_that_another_begins_with_is_still_that_one(folder: Path) -> None:
    (folder / f"{OLD}-2.sqlite").write_text("")
    assert find_recording(folder, OLD).stem == OLD


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("20261125-1", f"fits {OLD}, {NEW}, {DEMO}"),
        ("20261125-104546-smr-up-c4", OLD),
        ("", "last"),
        ("nothing at all", f"{DEMO}, {NEW}, {OLD}"),
        ("/no/where.sqlite", "choose one"),
    ],
)
def test_what_fits_none_or_several_is_one_sentence_with_near_ones(
    folder: Path, asked: str, words: str
) -> None:
    with pytest.raises(ConfigError, match=words):
        find_recording(folder, asked)


def test_the_same_id_twice_asks_for_the_path(folder: Path) -> None:
    (folder / f"{DEMO}.sqlite").write_text("")
    with pytest.raises(ConfigError, match="give the path"):
        find_recording(folder, DEMO)


def test_an_empty_shelf_says_so(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="none is yet"):
        find_recording(tmp_path, "last")


def test_a_session_that_was_cut_off_is_listed_with_what_is_saved(tmp_path: Path) -> None:
    path = killed(tmp_path)
    (shelved,) = cut_off(tmp_path)
    assert (shelved.path, shelved.id) == (path, OLD)
    assert (shelved.seconds, shelved.n_points) == (5.0, 1)
    assert (shelved.client, shelved.number) == ("HERON-07", 4)
    # noise() arrives 5 s after 100 s on the clock, which the anchor puts at 12:00
    assert shelved.last_utc == datetime(2026, 11, 25, 12, 0, 5, tzinfo=UTC)
    # and 1250 samples at 250 Hz last until then
    assert shelved.began_utc == datetime(2026, 11, 25, 12, 0, 0, 4000, tzinfo=UTC)
    assert saved(path) == shelved


def test_encrypted_and_plain_ones_are_listed_and_closed_side_by_side(tmp_path: Path) -> None:
    plain, locked = killed(tmp_path, OLD), killed(tmp_path, NEW, "a passphrase")
    assert [shelved.path for shelved in cut_off(tmp_path)] == [plain]
    assert [shelved.path for shelved in cut_off(tmp_path, "a passphrase")] == [plain, locked]
    assert saved(locked, "a passphrase").client == "HERON-07"
    with pytest.raises(RecordError, match="does not open"):
        close_cut_off(locked, "another")
    for path in (plain, locked):
        close_cut_off(path, "a passphrase")
    assert cut_off(tmp_path, "a passphrase") == ()


def test_one_that_was_read_since_is_still_listed(tmp_path: Path) -> None:
    path = killed(tmp_path)
    read_session(path)
    assert not Path(f"{path}-wal").exists()
    assert [shelved.id for shelved in cut_off(tmp_path)] == [OLD]


def test_what_was_closed_after_a_crash_is_no_longer_listed(tmp_path: Path) -> None:
    path = killed(tmp_path)
    close_cut_off(path)
    close_cut_off(path)
    assert cut_off(tmp_path) == ()
    assert read_session(path).ended == "closed after a crash"
    assert read_session(path).n_samples == 1250
    assert [entry.name for entry in tmp_path.glob("*.sqlite*")] == [path.name]


def test_what_ended_and_what_still_runs_and_what_is_empty_or_damaged_is_not_listed(
    tmp_path: Path,
) -> None:
    ended = recorded(tmp_path, "20261125-090000-ended")
    ended.meta("ended", "operator")
    ended.close()
    running = recorded(tmp_path, "20261125-100000-running")
    (tmp_path / "20261125-110000-empty.sqlite").write_text("")
    (tmp_path / "20261125-110000-damaged.sqlite").write_text("no recording" * 100)
    assert cut_off(tmp_path) == ()
    assert running.path is not None
    with pytest.raises(RecordError, match="still being written"):
        close_cut_off(running.path)
    running.close()
    assert [shelved.id for shelved in cut_off(tmp_path)] == ["20261125-100000-running"]


def test_a_recording_closed_by_the_operator_keeps_its_own_end(tmp_path: Path) -> None:
    recording = recorded(tmp_path)
    recording.meta("ended", "operator")
    recording.close()
    assert recording.path is not None
    close_cut_off(recording.path)
    assert read_session(recording.path).ended == "operator"
