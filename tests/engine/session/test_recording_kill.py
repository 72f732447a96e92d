from pathlib import Path

import pytest

from tests.engine.session.killing import faults_after_a_kill


@pytest.mark.parametrize("seed", range(10))
def test_a_recording_is_whole_after_a_kill_at_any_moment(seed: int, tmp_path: Path) -> None:
    assert faults_after_a_kill(tmp_path, seed) == []
