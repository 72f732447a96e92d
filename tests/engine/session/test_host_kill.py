"""A host that is killed at a moment of chance leaves all but its last second, and a proof of it.

`tests.benchmarks.bench_kill` does the same more often, and with windows.
"""

import os
from pathlib import Path

import pytest

from tests.engine.session.killing_host import killed_host


@pytest.mark.parametrize("after_s", [0.1, 0.9, 1.4, 1.73, 2.2, 3.1])
def test_every_point_and_every_second_but_the_last_is_there(after_s: float, tmp_path: Path) -> None:
    killed = killed_host(tmp_path, seed=round(100 * after_s), after_s=after_s)
    assert killed.faults == ()
    # Five seconds come at once; so there are points that had to be saved, after some time.
    assert killed.n_due > 0 or after_s < 3


@pytest.mark.skipif(os.name == "nt", reason="a kill takes the windows along only where it can")
def test_its_windows_leave_by_themselves(tmp_path: Path) -> None:
    assert killed_host(tmp_path, seed=1, after_s=1.0, windows=True).faults == ()
