"""The README shows what the demo says; this runs the demo, and scores what it recorded."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from ui.command_line import parser

ROOT = Path(__file__).resolve().parent.parent
NOT_ASKED = "No windows"
"""How the sentence begins that a run does not say when it is told to be headless."""


def nudgeline(*arguments: str) -> list[str]:
    """Run the command line; return all that it said, line by line."""
    done = subprocess.run(
        [sys.executable, "-m", "ui.command_line", *arguments],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        timeout=120,
    )
    assert done.returncode == 0, done.stdout
    return done.stdout.splitlines()


def text_block(word: str) -> list[str]:
    """Return the lines of the README's block that holds ``word``."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks: list[str] = re.findall(r"```text\n(.*?)```", text, re.S)
    return next(block for block in blocks if word in block).splitlines()


def shape(line: str) -> str:
    """Return a line without its numbers and without the name of a file."""
    return re.sub(r"\d+(\.\d+)?", "#", re.sub(r"(?<=^Recorded in ).+", "FILE", line))


@pytest.fixture(scope="module")
def said() -> list[str]:
    return nudgeline("demo", "--headless", "--seconds", "15")


def test_the_demo_says_what_the_readme_shows(said: list[str]) -> None:
    shown = [line for line in text_block("Recorded in") if not line.startswith(NOT_ASKED)]
    assert len(shown) > 5
    assert set(map(shape, shown)) <= set(map(shape, said))


def test_the_demo_gives_points_and_its_recording_gives_them_again(said: list[str]) -> None:
    points = next(line for line in said if " points in " in line)
    recorded = next(line for line in said if line.startswith("Recorded in "))
    file = recorded.removeprefix("Recorded in ")
    assert not points.startswith("0 ")
    assert points in nudgeline("score", file, "--channel", "C4", "--protocol", "smr-up-c4")


def test_the_readme_lists_every_verb_and_no_other() -> None:
    listed = {line.split()[1] for line in text_block("nudgeline demo")}
    (verbs,) = (action for action in parser()._actions if isinstance(action.choices, dict))
    assert isinstance(verbs.choices, dict)
    assert listed == set(verbs.choices)
