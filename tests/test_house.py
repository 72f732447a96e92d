"""The house rules that no linter knows."""

import ast
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
FLOORS = ("engine", "ui", "simulators", "configs", "tests")
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", *FLOORS}
LONGEST = 450

MODULES = sorted(
    path.relative_to(ROOT).as_posix()
    for floor in FLOORS
    for path in (ROOT / floor).rglob("*.py")
    if "__pycache__" not in path.parts
)
TEXTS = sorted(
    path.relative_to(ROOT).as_posix()
    for path in [
        *(path for path in ROOT.iterdir() if path.is_file()),
        *(path for floor in FLOORS for path in (ROOT / floor).rglob("*")),
        *(ROOT / ".ci").iterdir(),
    ]
    if path.suffix in {".py", ".toml", ".md", ".yaml"} or path.parent.name == ".ci"
)

PURE = ("engine/signal/", "engine/reward/", "engine/pipeline.py")
"""Between chunk and event: no clock, file, thread, queue or network."""

OUTSIDE_WORLD = {
    "asyncio", "io", "logging", "multiprocessing", "os", "pathlib", "pylsl", "queue", "random",
    "socket", "sqlcipher3", "sqlite3", "subprocess", "sys", "tempfile", "threading", "time",
}  # fmt: skip

BEFORE_SETUP = (
    "ui/__init__.py", "ui/__main__.py", "ui/bootstrap.py", "tests/__init__.py", "tests/__main__.py"
)  # fmt: skip
"""What runs before anything is installed."""

NO_PLACE = (
    "pypi" + ".org",
    "python" + "hosted",
    "/wo" + "rk/",
    "/ro" + "ot/",
    "TO" + "DO",
    "FIX" + "ME",
)
"""Registry hosts, paths of one machine, and promises that belong on a list of their own."""


def imports_of(module: str, everywhere: bool = True) -> set[str]:
    """Return what a file imports, as dotted names; only at its top unless ``everywhere``."""
    tree = ast.parse((ROOT / module).read_text(encoding="utf-8"))
    names: set[str] = set()
    for node in ast.walk(tree) if everywhere else tree.body:
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: write imports from the floor down, not relative"
            names.add(node.module or "")
    return names


def floors_of(names: set[str]) -> set[str]:
    return {name.split(".")[0] for name in names}


def test_there_are_modules_to_check() -> None:
    assert len([module for module in MODULES if module.startswith("engine/")]) > 10


@pytest.mark.parametrize("module", [m for m in MODULES if m.startswith("engine/")])
def test_the_engine_imports_neither_windows_nor_simulators(module: str) -> None:
    upwards = floors_of(imports_of(module)) & {"ui", "simulators", "tests", "PyQt6", "pyqtgraph"}
    assert not upwards


@pytest.mark.parametrize("module", [m for m in MODULES if m.startswith(PURE)])
def test_from_chunk_to_event_the_engine_touches_nothing_outside(module: str) -> None:
    assert not floors_of(imports_of(module)) & OUTSIDE_WORLD


@pytest.mark.parametrize("module", [m for m in MODULES if m.startswith(("ui/", "simulators/"))])
def test_only_the_command_line_may_start_a_simulator(module: str) -> None:
    others = {"simulators"} if module.startswith("ui/") else {"ui", "PyQt6", "pyqtgraph"}
    if not module.startswith(("ui/command_line.py", "ui/verbs/")):
        assert not floors_of(imports_of(module)) & others


@pytest.mark.parametrize("module", BEFORE_SETUP)
def test_what_runs_before_the_setup_needs_the_standard_library_alone(module: str) -> None:
    names = imports_of(module, everywhere=False)
    assert floors_of(names - {"ui.bootstrap"}) <= set(sys.stdlib_module_names)


@pytest.mark.parametrize("module", BEFORE_SETUP)
def test_an_old_python_can_still_read_what_tells_it_that_it_is_old(module: str) -> None:
    ast.parse((ROOT / module).read_text(encoding="utf-8"), feature_version=(3, 6))


@pytest.mark.parametrize("module", [m for m in MODULES if not m.startswith("tests/")])
def test_every_module_says_what_it_is(module: str) -> None:
    tree = ast.parse((ROOT / module).read_text(encoding="utf-8"))
    assert ast.get_docstring(tree) or not tree.body, "the module has no docstring"


@pytest.mark.parametrize("module", MODULES)
def test_a_file_is_one_concept(module: str) -> None:
    lines = (ROOT / module).read_text(encoding="utf-8").count("\n")
    assert lines <= LONGEST, f"{lines} lines: is it more than one concept?"


@pytest.mark.parametrize("text", TEXTS)
def test_nothing_speaks_of_one_machine_or_of_work_to_come(text: str) -> None:
    content = (ROOT / text).read_text(encoding="utf-8")
    assert not [word for word in NO_PLACE if word in content]


def test_every_library_is_declared_and_every_declared_library_is_used() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = {re.split("[<>=]", line)[0] for line in project["dependencies"]}
    shipped = [module for module in MODULES if not module.startswith("tests/")]
    used = set().union(*(floors_of(imports_of(module)) for module in shipped))
    assert used - set(sys.stdlib_module_names) - set(FLOORS) - {"__future__"} == declared


def test_the_top_level_holds_the_floors_and_three_files() -> None:
    names = {path.name for path in ROOT.iterdir()}
    assert names >= TOP_LEVEL
    if (ROOT / ".git").exists() and shutil.which("git"):
        listed = subprocess.check_output(["git", "ls-files"], cwd=ROOT, encoding="utf-8")
        names = {line.split("/")[0] for line in listed.splitlines()}
        assert {name for name in names if not name.startswith(".")} == TOP_LEVEL


def readme_commands() -> list[str]:
    block = re.search(r"```sh\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.S)
    assert block, "the README shows its commands in a block"
    return block.group(1).strip().splitlines()


def test_ci_runs_the_two_commands_of_the_readme() -> None:
    demo, tests = readme_commands()
    assert (demo, tests) == ("python3 -m ui demo", "python3 -m tests")
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert tests in script
    assert any(demo in line for line in script)
