"""A recording that is encrypted: nobody reads it without its passphrase, and nothing names that."""

from __future__ import annotations

from pathlib import Path

import pytest

from engine.errors import RecordError
from engine.session import recording_tables as tables
from engine.session.recorded_course import recorded_course
from engine.session.recording import Recording
from engine.session.recording_reader import is_session, read_session
from engine.session.shelf import close_cut_off, cut_off, saved
from engine.session.verification import verify
from tests.engine.session.examples import INFO, PROTOCOL, chunks_of, rhythm
from tests.engine.session.recorded import recorded_session

SECRET = "three herons' pond, ü"


@pytest.fixture(scope="module")
def locked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return recorded_session(tmp_path_factory.mktemp("locked"), passphrase=SECRET)


def test_it_is_read_and_proved_with_its_passphrase(locked: Path) -> None:
    session = read_session(locked, SECRET)
    assert session.n_samples == 34 * 250
    assert verify(session).proved
    assert recorded_course(locked, SECRET).rounds
    assert saved(locked, SECRET).client == "HERON-07"
    assert SECRET not in repr(session)


def test_nothing_in_the_file_can_be_read(locked: Path) -> None:
    content = locked.read_bytes()
    assert not content.startswith(tables.PLAIN)
    assert b"HERON-07" not in content and b"CREATE TABLE" not in content
    assert is_session(locked)


@pytest.mark.parametrize("wrong", ["", "three herons pond", "x'00'", "'; DROP TABLE event; --"])
def test_without_it_there_is_one_sentence(locked: Path, wrong: str) -> None:
    with pytest.raises(RecordError) as caught:
        read_session(locked, wrong)
    said = str(caught.value)
    assert "passphrase" in said and "\n" not in said
    assert not wrong or wrong not in said
    assert SECRET not in said


def test_a_plain_recording_takes_no_passphrase(tmp_path: Path) -> None:
    path = recorded_session(tmp_path)
    with pytest.raises(RecordError, match="is not encrypted, but a passphrase was given"):
        read_session(path, SECRET)


def test_the_write_ahead_log_of_a_running_session_is_encrypted_too(tmp_path: Path) -> None:
    recording = Recording(tmp_path, "20261125-104547-smr-up-c4", passphrase=SECRET)
    recording.begin(PROTOCOL, INFO, "0.1.0", {"who": "HERON-07"})
    for chunk in chunks_of(rhythm(2.0)):
        recording.samples(0, chunk)
        break
    assert recording.flush()
    for path in tmp_path.iterdir():
        assert b"HERON-07" not in path.read_bytes()
    recording.close()


def test_one_that_was_cut_off_is_found_and_closed(tmp_path: Path) -> None:
    path = recorded_session(tmp_path, passphrase=SECRET)
    connection = tables.connect(path, SECRET)
    connection.execute("DELETE FROM meta WHERE key = 'ended'")
    tables.close(connection)
    assert [found.path for found in cut_off(tmp_path, SECRET)] == [path]
    assert cut_off(tmp_path) == ()
    close_cut_off(path, SECRET)
    assert cut_off(tmp_path, SECRET) == ()


def test_a_copy_made_after_its_file_was_deleted_is_encrypted_too(tmp_path: Path) -> None:
    recording = Recording(tmp_path, "20261125-104547-smr-up-c4", passphrase=SECRET)
    recording.begin(PROTOCOL, INFO, "0.1.0", {"who": "HERON-07"})
    assert recording.flush() and recording.path is not None
    recording.path.unlink()
    (chunk,) = list(chunks_of(rhythm(0.1)))[:1]
    recording.samples(0, chunk)
    assert recording.flush()
    recording.close()
    assert tables.encrypted(recording.path)
    assert read_session(recording.path, SECRET).n_samples == chunk.n_samples
