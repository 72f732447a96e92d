"""Kills a host at a moment of chance, and tells what is wrong with what is left."""

from __future__ import annotations

import random
import subprocess
import sys
import time
from collections import Counter
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import psutil

from engine.errors import RecordError
from engine.events import PointEarned
from engine.session import recording_tables as tables
from engine.session.recording_reader import RecordedSession, read_session
from engine.session.shelf import cut_off
from engine.session.verification import verify
from tests.engine.session.examples import rhythm
from tests.engine.session.processes import still_running

ROOT = Path(__file__).resolve().parents[3]
DURABLE_S = 1.0
"""What is older than this when the kill comes has to be there."""

Line = tuple[str, int, float]


@dataclass(frozen=True)
class Killed:
    """What one kill left.

    Attributes
    ----------
    faults : sentences about what should be there and is not.
    n_points, n_samples : saved. n_due : points that were old enough to have to be.
    lost_s : how old the oldest thing was that was handed over and is gone, seconds.
    """

    faults: tuple[str, ...]
    n_points: int = 0
    n_samples: int = 0
    n_due: int = 0
    lost_s: float = 0.0


def killed_host(
    folder: Path,
    seed: int,
    *,
    since: str = "samples",
    after_s: float | None = None,
    windows: bool = False,
) -> Killed:
    """Let a host run for a time, of chance where none is given, kill it, and look what is there.

    The time counts from the first line that begins with ``since``.
    """
    after_s = random.Random(seed).uniform(0.0, 4.0) if after_s is None else after_s
    said, killed_at, left = _killed(folder, seed, since, after_s, windows)
    faults = [f"still running: {' '.join(process.cmdline())}" for process in left]
    old = [line for line in said if line[2] <= killed_at - DURABLE_S]
    try:
        (path,) = folder.glob("*.sqlite")
        session = read_session(path)
    except (ValueError, RecordError) as error:  # no file yet, or nothing in it
        faults += [f"nothing is there: {error}"] if old else []
        return Killed(tuple(faults), lost_s=killed_at - said[0][2])
    if session.n_samples and [shelved.path for shelved in cut_off(folder)] != [path]:
        faults.append("the session is not listed as cut off")
    with closing(tables.connect(path, read_only=True)) as connection:
        verdict = connection.execute("PRAGMA integrity_check").fetchall()
    if verdict != [("ok",)]:
        faults.append(f"integrity: {verdict}")
    faults += [*_samples(session, seed, old), *_events(session, old)]
    difference = verify(session).difference
    if difference is not None:
        faults.append(f"not proved: {difference}")
    return Killed(
        tuple(faults),
        len(session.points()),
        session.n_samples,
        sum(word == "PointEarned" for word, _, _ in old),
        max((killed_at - t for word, n, t in said if _unsaved(word, n, session)), default=0.0),
    )


def _unsaved(word: str, n_samples: int, session: RecordedSession) -> bool:
    return word == "samples" and n_samples > session.n_samples


def _killed(
    folder: Path, seed: int, since: str, after_s: float, windows: bool
) -> tuple[list[Line], float, list[psutil.Process]]:
    """Return all that the host said, when it was killed, and its children that did not end."""
    module = "tests.engine.session.endless_host"
    host = subprocess.Popen(
        [sys.executable, "-m", module, folder, str(seed), "windows" if windows else "headless"],
        stdout=subprocess.PIPE,
        cwd=ROOT,
        text=True,
    )
    assert host.stdout is not None
    try:
        first = ""
        for line in host.stdout:
            first += line
            if line.startswith(since):
                break
        time.sleep(after_s)
        children = psutil.Process(host.pid).children(recursive=True)
    finally:
        killed_at = time.monotonic()
        host.kill()
    rest, _ = host.communicate()
    words = [line.split() for line in (first + rest).splitlines()]
    said = [(word, int(n), float(moment)) for word, n, moment in words]
    return said, killed_at, still_running(children, within_s=10.0)


def _samples(session: RecordedSession, seed: int, old: list[Line]) -> list[str]:
    """Return what is wrong with the samples: another value, or fewer than were old enough."""
    raw = np.concatenate([np.empty((0, 2), "<f4"), *(chunk.raw for chunk in session.chunks())])
    expected = rhythm(60.0, seed).take(range(raw.shape[0]), axis=0, mode="wrap")
    faults = [] if np.array_equal(raw, expected) else ["samples are not those handed over"]
    due = max((n for word, n, _ in old if word == "samples"), default=0)
    if session.n_samples < due:
        faults.append(f"{due} samples were {DURABLE_S} s old, {session.n_samples} are there")
    return faults


def _events(session: RecordedSession, old: list[Line]) -> list[str]:
    """Return what was told of, is old enough, and is not there."""
    told = Counter((word, n) for word, n, _ in old if word != "samples")
    there = Counter((type(event).__name__, event.sample) for event in session.events())
    faults = [f"{word} at sample {n} is not there" for word, n in told - there]
    points = [event.number for event in session.events() if isinstance(event, PointEarned)]
    if points != list(range(1, len(points) + 1)):
        faults.append(f"points are numbered {points}")
    return faults
