"""Setting up from a bare checkout: when it is done again, and what it says when it cannot be."""

import os
import sys
import venv
from pathlib import Path

import pytest

from ui.bootstrap import (
    Environment,
    SetupError,
    explain,
    package_of,
    pip_command,
    refuse_old_python,
    set_up,
)


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    root = tmp_path / "check out"
    root.mkdir()
    (root / "pyproject.toml").write_text('[project]\nname = "anything"\n')
    return root


@pytest.fixture
def made(checkout: Path) -> Environment:
    environment = Environment(checkout)
    venv.EnvBuilder(symlinks=os.name != "nt", with_pip=False).create(environment.folder)
    return environment


def test_a_fresh_checkout_is_not_ready(checkout: Path) -> None:
    environment = Environment(checkout)
    assert not environment.is_ready("")
    assert not environment.is_usable()
    assert not environment.is_running


def test_an_environment_whose_setup_was_broken_off_is_not_ready(made: Environment) -> None:
    assert made.is_usable()
    assert not made.is_ready("")


def test_what_is_set_up_for_the_tests_also_runs_the_demo(made: Environment) -> None:
    made.mark_ready("test")
    assert made.is_ready("test")
    assert made.is_ready("")


def test_what_is_set_up_for_the_demo_does_not_run_the_tests(made: Environment) -> None:
    made.mark_ready("")
    assert made.is_ready("")
    assert not made.is_ready("test")


def test_a_changed_pyproject_is_installed_again(made: Environment) -> None:
    made.mark_ready("")
    (made.root / "pyproject.toml").write_text('[project]\nname = "something else"\n')
    assert not made.is_ready("")
    assert made.is_usable()


def test_a_checkout_that_moved_is_installed_again(made: Environment) -> None:
    made.mark_ready("")
    moved = made.root.with_name("moved")
    made.root.rename(moved)
    assert not Environment(moved).is_ready("")


def test_an_environment_of_a_python_that_went_away_is_not_usable(made: Environment) -> None:
    made.python.unlink()
    assert not made.is_ready("")
    assert not made.is_usable()


def test_an_environment_of_a_python_that_was_replaced_is_not_usable(made: Environment) -> None:
    settings = made.folder / "pyvenv.cfg"
    now = "{}.{}.".format(*sys.version_info)
    settings.write_text(settings.read_text().replace(f"version = {now}", "version = 3.7."))
    assert not made.is_usable()


def test_a_pip_is_found_that_can_install_into_an_environment_without_one(
    made: Environment,
) -> None:
    command = pip_command(made)
    assert command[1:3] == ["-m", "pip"]
    assert str(made.python) in command


@pytest.mark.parametrize("version", [(3, 6, 15), (3, 10, 13), (2, 7, 18)])
def test_an_old_python_is_told_what_to_do(version: tuple[int, ...]) -> None:
    with pytest.raises(SetupError, match=r"This is Python \d.*needs 3\.11 or newer: install one"):
        refuse_old_python(version)


@pytest.mark.parametrize("version", [(3, 11, 0), (3, 13, 1), (4, 0, 0)])
def test_a_new_python_is_welcome(version: tuple[int, ...]) -> None:
    refuse_old_python(version)


def test_a_folder_that_cannot_be_written_is_named(checkout: Path) -> None:
    environment = Environment(checkout)
    environment.folder.write_text("a file stands where the folder should be")
    with pytest.raises(
        SetupError, match=r"The folder .*\.venv cannot be written \(.+\): make room"
    ):
        set_up(environment, "")


@pytest.mark.parametrize(
    "log",
    [
        "WARNING: Retrying after connection broken by 'NewConnectionError(...)': /simple/numpy/\n",
        "      ERROR: Could not find a version that satisfies numpy (from versions: none)\n",
    ],
)
def test_a_missing_connection_is_said_plainly(log: str) -> None:
    assert "did not reach the package index" in explain(log + "ERROR: No matching distribution\n")


def test_a_full_disk_is_said_plainly() -> None:
    assert explain("ERROR: [Errno 28] No space left on device\n").startswith("The disk is full")


def test_any_other_failure_repeats_the_last_error() -> None:
    said = explain("ERROR: first\nCollecting numpy\nERROR: No matching distribution for scipy.\n")
    assert "(No matching distribution for scipy)" in said


@pytest.mark.parametrize(
    ("line", "shown"),
    [
        (
            "  Downloading scipy-1.17.1-cp311-cp311-manylinux_2_28_x86_64.whl (35.3 MB)\n",
            "scipy 1.17.1 (35.3 MB)",
        ),
        ("Using cached PyQt6-6.11.0-cp310-abi3-win_amd64.whl (27 MB)\n", "PyQt6 6.11.0 (27 MB)"),
        ("  Downloading https://host/path/mne-1.8.0-py3-none-any.whl (7 MB)\n", "mne 1.8.0 (7 MB)"),
        ("  Downloading scipy-1.17.1-cp311.whl.metadata (62 kB)\n", ""),
        ("Collecting scipy>=1.13\n", ""),
        ("\n", ""),
    ],
)
def test_progress_names_each_package_and_its_size(line: str, shown: str) -> None:
    assert package_of(line) == shown
