"""A client who does what is said: a replayed recording, with a clench or blinks when asked for.

``python -m tests.ui.whole.client FILE SPEED``; what is said stands in the file that `SAID` names.
"""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

from engine.chunk import Floats
from engine.clinic import load_clinic
from engine.stream import network
from engine.stream.files import Recorded, open_recording
from simulators import artifacts
from simulators.outlet import play
from simulators.replay import ReplaySettings, replay_steps
from simulators.steps import Push, Step

SAID = "NUDGELINE_TEST_SAID"
CLENCH_UV, BLINK_UV = 40.0, 250.0
"""RMS of a clench at C4, and the height of a blink at Fp1: amid what textbooks give."""

LOOP_S = 60.0


def waves(sfreq: float) -> dict[str, Floats]:
    """Return a minute of each thing that a client may be asked for, at C4, µV."""
    rng = np.random.default_rng(11)
    clench = artifacts.clench(sfreq, rng, "C4", CLENCH_UV, LOOP_S)
    blinks = np.zeros(clench.size)
    for second in range(round(LOOP_S)):
        blink = artifacts.blink(sfreq, rng, "C4", BLINK_UV, 0.3)
        start = round(second * sfreq)
        blinks[start : start + blink.size] += blink
    return {"clench": clench, "blink": blinks}


def obeying(steps: Iterable[Step], recorded: Recorded, said: Path) -> Iterator[Step]:
    """Add to what is streamed what is asked for at that moment."""
    found = waves(recorded.info.sfreq)
    per_uv = 1.0 / np.asarray(recorded.info.to_uv)
    place = 0
    for step in steps:
        what = said.read_text() if said.exists() else ""
        if isinstance(step, Push) and what in found:
            raw = np.asarray(step.samples)
            wave = found[what]
            added = wave[np.arange(place, place + len(raw)) % wave.size]
            mixed = (raw + added[:, np.newaxis] * per_uv).astype(raw.dtype)
            step = replace(step, samples=mixed)
            place += len(raw)
        yield step


def main(file: str, speed: str) -> None:
    """Stream a file to its end."""
    recorded = open_recording(Path(file))
    network.configure(network.text_for(load_clinic().network, os.environ))
    steps = replay_steps(recorded, ReplaySettings(Path(file), float(speed)))
    heard = obeying(steps, recorded, Path(os.environ[SAID]))
    play(heard, threading.Event(), threading.Event(), wait_for_reader=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
