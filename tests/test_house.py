"""The house rules that no linter knows."""

import ast
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

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

PURE = (
    "engine/signal/",
    "engine/reward/",
    "engine/hiding.py",
    "engine/least_delay.py",
    "engine/pipeline.py",
    "engine/plan.py",
    "engine/tuning.py",
)
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


def tree_of(module: str, python: tuple[int, int] = (3, 11)) -> ast.Module:
    source = (ROOT / module).read_text(encoding="utf-8")
    return ast.parse(source, filename=module, feature_version=python)


def imports_of(module: str, everywhere: bool = True) -> set[str]:
    """Return what a file imports, as dotted names; only at its top unless ``everywhere``."""
    tree = tree_of(module)
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


def who_imports(unwanted: set[str], rooms: tuple[str, ...]) -> dict[str, set[str]]:
    """Return every module in ``rooms`` that imports what it must not, with what."""
    inside = [module for module in MODULES if module.startswith(rooms)]
    assert inside, f"nothing to check in {rooms}"
    found = {module: floors_of(imports_of(module)) & unwanted for module in inside}
    return {module: names for module, names in found.items() if names}


def test_the_engine_imports_neither_windows_nor_simulators() -> None:
    assert who_imports({"ui", "simulators", "tests", "PyQt6", "pyqtgraph"}, ("engine/",)) == {}


def test_from_chunk_to_event_the_engine_touches_nothing_outside() -> None:
    assert who_imports(OUTSIDE_WORLD, PURE) == {}


def test_simulators_stand_on_the_engine_alone() -> None:
    assert who_imports({"ui", "tests", "PyQt6", "pyqtgraph"}, ("simulators/",)) == {}


def test_only_the_command_line_may_start_a_simulator() -> None:
    importers = who_imports({"simulators"}, ("ui/",))
    assert [m for m in importers if m != "ui/command_line.py"] == []


def test_what_runs_before_the_setup_needs_the_standard_library_alone() -> None:
    names = set().union(*(imports_of(module, everywhere=False) for module in BEFORE_SETUP))
    assert floors_of(names - {"ui.bootstrap"}) - set(sys.stdlib_module_names) == set()


def test_an_old_python_can_still_read_what_tells_it_that_it_is_old() -> None:
    for module in BEFORE_SETUP:
        tree_of(module, python=(3, 6))


def test_every_module_says_what_it_is() -> None:
    shipped = [module for module in MODULES if not module.startswith("tests/")]
    trees = {module: tree_of(module) for module in shipped}
    assert [m for m, tree in trees.items() if tree.body and not ast.get_docstring(tree)] == []


def test_a_file_is_one_concept() -> None:
    lines = {m: (ROOT / m).read_text(encoding="utf-8").count("\n") for m in MODULES}
    assert {module: n for module, n in lines.items() if n > LONGEST} == {}


def test_nothing_speaks_of_one_machine_or_of_work_to_come() -> None:
    texts = {text: (ROOT / text).read_text(encoding="utf-8") for text in TEXTS}
    assert [(text, word) for text, said in texts.items() for word in NO_PLACE if word in said] == []


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
