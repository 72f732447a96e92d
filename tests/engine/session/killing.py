"""Kills a recording at a moment of chance, and tells what is wrong with what is left."""

from __future__ import annotations

import random
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import numpy as np

from engine.events import Note
from engine.session import recording_tables as tables
from engine.session.recording_reader import read_session

ROOT = Path(__file__).resolve().parents[3]


def killed_session(folder: Path, seed: int) -> tuple[Path, int]:
    """Let a session run and kill it; return its recording and the samples acknowledged."""
    n_samples, _ = _killed("endless_session", folder, seed, 12)
    (path,) = folder.glob("*.sqlite")
    return path, n_samples


def _killed(module: str, folder: Path, seed: int, most_lines: int) -> tuple[int, int]:
    """Kill a module of this folder after some lines; return the numbers on its last one."""
    chance = random.Random(seed)
    child = subprocess.Popen(
        [sys.executable, "-m", f"tests.engine.session.{module}", folder, str(seed)],
        stdout=subprocess.PIPE,
        cwd=ROOT,
        text=True,
    )
    assert child.stdout is not None
    try:
        lines = [child.stdout.readline() for _ in range(chance.randint(1, most_lines))]
        time.sleep(chance.uniform(0, 0.01))
    finally:
        child.kill()
    rest, _ = child.communicate()
    # A last line that the kill cut short acknowledges nothing.
    lines += [line for line in rest.splitlines(keepends=True) if line.endswith("\n")]
    n_samples, n_events = (int(word) for word in lines[-1].split())
    return n_samples, n_events


def faults_after_a_kill(folder: Path, seed: int) -> list[str]:
    """Let a recording run, kill it, and return what was acknowledged but is not there."""
    n_samples, n_events = _killed("endless_recording", folder, seed, 60)
    (path,) = folder.glob("*.sqlite")
    session = read_session(path)
    faults = []
    with closing(tables.connect(path, read_only=True)) as connection:
        verdict = connection.execute("PRAGMA integrity_check").fetchall()
    if verdict != [("ok",)]:
        faults.append(f"integrity: {verdict}")
    values = np.concatenate([chunk.raw[:, 0] for chunk in session.chunks()])
    if not np.array_equal(values, np.arange(values.size)):
        faults.append("samples are not those that were recorded")
    if values.size < n_samples:
        faults.append(f"{n_samples} samples acknowledged, {values.size} there")
    notes = [event for event in session.events() if isinstance(event, Note)]
    if [note.text for note in notes] != [str(number) for number in range(len(notes))]:
        faults.append("events are not those that were recorded")
    if len(notes) < n_events:
        faults.append(f"{n_events} events acknowledged, {len(notes)} there")
    return faults
