"""What every test stands on: no real screen, no real home folder, nothing left behind.

On a machine without Qt's system libraries the tests of windows are not collected, and the
summary says which and what to install. Where ``CI`` is set, any test not run fails the run.
"""

import os
import re
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from engine.session.qt_probe import qt_available
from tests.lsl import lsl
from tests.processes import end_left_behind, mark_this_run

__all__ = ["lsl"]  # the fixture of every test that opens a stream

HERE = Path(__file__).resolve().parent
IN_CI = os.environ.get("CI", "").lower() in ("true", "1")

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
HOME = tempfile.TemporaryDirectory(prefix="nudgeline-tests-")
for kind in ("CONFIG", "DATA", "STATE", "CACHE"):
    os.environ[f"XDG_{kind}_HOME"] = os.path.join(HOME.name, kind.lower())
mark_this_run()

settings.register_profile(
    "gate",
    derandomize=True,
    deadline=None,
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile("explore", deadline=None, max_examples=1000)
settings.load_profile("gate")

NEEDS_QT = re.compile(
    r"^\s*(from|import) (PyQt6|pyqtgraph|ui\.(?!bootstrap|command_line|verbs))|\bqtbot\b",
    re.MULTILINE,
)
"""What in a test's file says that it cannot be imported without Qt."""

PROBLEMS = pytest.StashKey[list[str]]()
QT = qt_available()
WITHOUT_QT = f"{QT.why}; {QT.install}"
NOT_RUN: list[str] = []
"""Files that were not collected for want of Qt."""


def pytest_addoption(pluginmanager: pytest.PytestPluginManager) -> None:
    """Keep pytest-qt out where Qt cannot be loaded: it would end the run."""
    if not QT.available:
        pluginmanager.set_blocked("pytest-qt")


def pytest_ignore_collect(collection_path: Path) -> bool | None:
    """Leave out the tests of windows where there is no Qt, and remember which."""
    if QT.available or not _needs_qt(collection_path):
        return None
    files = collection_path.rglob("test_*.py") if collection_path.is_dir() else [collection_path]
    NOT_RUN.extend(sorted(file.relative_to(HERE).as_posix() for file in files))
    return True


def _needs_qt(path: Path) -> bool:
    """Whether a test's file, or the conftest of a folder, cannot be imported without Qt."""
    if path.is_dir():
        path = path / "conftest.py"
    elif not path.match("test_*.py"):
        return False
    return path.exists() and bool(NEEDS_QT.search(path.read_text(encoding="utf-8")))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip the tests outside the windows' own files that are marked as opening one."""
    if not QT.available:
        for item in items:
            if item.get_closest_marker("qt"):
                item.add_marker(pytest.mark.skip(reason=WITHOUT_QT))


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Fail the run when a process was left behind or, where CI is set, a test was not run."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    assert isinstance(reporter, pytest.TerminalReporter)
    problems = [f"left behind by {line}" for line in end_left_behind()]
    if IN_CI:
        skipped = len(reporter.stats.get("skipped", []))
        problems += [f"{skipped} skipped, and CI takes no skip"] if skipped else []
        problems += [f"not run: {file}" for file in NOT_RUN]
    session.config.stash[PROBLEMS] = problems
    HOME.cleanup()
    if problems and session.exitstatus == pytest.ExitCode.OK:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say what was not run and why, and what else is wrong with the run."""
    if NOT_RUN:
        terminalreporter.section("tests of windows that were not run", yellow=True)
        for file in NOT_RUN:
            terminalreporter.line(file)
        terminalreporter.line(WITHOUT_QT)
    if problems := terminalreporter.config.stash.get(PROBLEMS, []):
        terminalreporter.section("the run fails", red=True)
        for problem in problems:
            terminalreporter.line(problem)
