"""Eight sessions one after another leave nothing behind; `tests.benchmarks.bench_day` is longer."""

from pathlib import Path

from tests.engine.session.day import one_session


def test_eight_sessions_are_proved_and_leave_no_thread_no_file_and_no_process(
    tmp_path: Path,
) -> None:
    day = [one_session(tmp_path, seed, 6.0) for seed in range(1, 9)]
    assert [after.faults for after in day] == [()] * 8
    assert len(list(tmp_path.glob("*.sqlite"))) == 8
    assert len(list((tmp_path / "exports").glob("*.edf"))) == 8
    for kind in ("n_threads", "n_files", "n_processes"):
        seen = [getattr(after, kind) for after in day]
        assert seen[1:] == seen[:1] * 7, f"{kind}: {seen}"
