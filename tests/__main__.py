"""The gate: ``python3 -m tests`` sets up what it needs, then runs every check, in order.

Arguments go to pytest (``python3 -m tests -k ring``); ``--lint`` alone runs all but the tests.
"""

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from ui.bootstrap import enter, say

ROOT = Path(__file__).resolve().parent.parent

LINT = {
    "style": ["-m", "ruff", "check", "."],
    "format": ["-m", "ruff", "format", "--check", "."],
    "types": ["-m", "mypy"],
    "imports": ["-c", "from importlinter.cli import lint_imports_command as lint; lint()"],
}
"""The checks before the tests: what each is called, and the arguments that Python takes for it."""

WINDOWS = "tests/ui"
"""The tests of windows and verbs: about half of the time that all take."""

PRIVATE_NETWORK = ["unshare", "-rn", "sh", "-c", 'ip link set lo up && exec "$@"', "sh"]
"""On Linux: a network of its own with loopback alone, so that no test can reach another machine."""


def main() -> int:
    """Run the gate; 0 when every check passed."""
    enter("tests", extra="test")
    arguments = sys.argv[1:]
    results = {name: _quietly(name, command) for name, command in LINT.items()}
    if arguments != ["--lint"]:
        results["tests"] = _tests(arguments)
    say("")
    for name, passed in results.items():
        say(f"{name:8} {'passed' if passed else 'FAILED'}")
    return 0 if all(results.values()) else 1


def _quietly(name: str, command: "list[str]") -> bool:
    """Run one check and show what it says only when it fails."""
    say(f"Checking {name} ...")
    done = subprocess.run(
        [sys.executable, *command], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    )
    if done.returncode != 0:
        sys.stderr.buffer.write(done.stdout)
    return done.returncode == 0


def _tests(arguments: "list[str]") -> bool:
    """Run pytest; no test at all counts as failed, since pytest's own status says so."""
    around = PRIVATE_NETWORK if _has_private_network() else []
    say(
        "Running the tests in a network of their own ..."
        if around
        else "Running the tests; LSL is told to stay on this machine ..."
    )
    command = [*around, sys.executable, "-m", "pytest"]
    if arguments:
        return subprocess.run([*command, *arguments], cwd=ROOT).returncode == 0
    return _side_by_side([*command, WINDOWS], [*command, f"--ignore={WINDOWS}"])


def _side_by_side(first: "list[str]", second: "list[str]") -> bool:
    """Run two halves of the tests at the same time; what the first says follows the second."""
    with tempfile.TemporaryFile() as said:
        other = subprocess.Popen(first, cwd=ROOT, stdout=said, stderr=subprocess.STDOUT)
        passed = subprocess.run(second, cwd=ROOT).returncode == 0
        passed = other.wait() == 0 and passed
        said.seek(0)
        sys.stdout.flush()
        shutil.copyfileobj(said, sys.stdout.buffer)
        sys.stdout.buffer.flush()
    return passed


def _has_private_network() -> bool:
    if not (shutil.which("unshare") and shutil.which("ip")):
        return False
    return subprocess.run([*PRIVATE_NETWORK, "true"], capture_output=True).returncode == 0


if __name__ == "__main__":
    sys.exit(main())
