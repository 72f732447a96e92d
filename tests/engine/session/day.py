"""A day at the desk: sessions one after another in one process, each looked at afterwards."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from pathlib import Path

import numpy as np
import psutil

from engine.chunk import StreamInfo, chunk_of
from engine.clinic import Clinic
from engine.configs_folder import find_protocol
from engine.export.session import export_all
from engine.protocol import load_protocol
from engine.session.host import run_session
from engine.session.recording_reader import read_session
from engine.session.verification import verify
from engine.session.window_process import Window
from engine.stream.messages import Data, Opened, Segment, SourceMessage
from simulators.person import Person, PersonSettings
from tests.engine.session.examples import INFO
from tests.engine.session.fakes import ScriptedSource

CHUNK = 25
SITES = ("C4", "Cz", "Fp1", "A2")


@dataclass(frozen=True)
class After:
    """What one session came to, and what the process was like after it.

    ``rss_mb`` is memory, ``took_s`` how long it took by the clock on the wall.
    """

    faults: tuple[str, ...]
    points: int
    seconds: float
    took_s: float
    rss_mb: float
    n_threads: int
    n_files: int
    n_processes: int


class StreamClock:
    """Goes by the samples that were given, and so by how fast they are taken."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


def one_session(
    folder: Path, seed: int, seconds: float, *, windows: Sequence[Window] = (), pause_s: float = 0.0
) -> After:
    """Run one simulated client as fast as it goes, then verify and export the recording.

    ``pause_s`` passes at every chunk of a tenth of a second, for what happens on the wall's clock.
    """
    info = StreamInfo(**{**INFO.__dict__, "ch_names": SITES, "units": ("µV",) * 4,
                         "to_uv": (1.0,) * 4})  # fmt: skip
    clock = StreamClock()
    begin = time.monotonic()

    def script() -> Iterator[SourceMessage | None]:
        person = Person(PersonSettings(seed=seed, ch_names=SITES))
        yield Opened(info)
        yield Segment(0.0, "start")
        for first in count(0, CHUNK):  # the round begins when the windows are there
            raw = person.read(first, CHUNK).astype("<f4")
            clock.now_s = (first + CHUNK) / info.sfreq
            stamps = np.arange(first, first + CHUNK) / info.sfreq
            yield Data(chunk_of(raw, info.to_uv, stamps, clock.now_s))
            if pause_s:
                time.sleep(pause_s)

    result = run_session(
        ScriptedSource(script()),
        load_protocol(find_protocol("smr-up-c4")),
        Clinic(recordings=folder),
        windows,
        headless_seconds=seconds,
        clock=time.monotonic if windows else clock,
        say=lambda text: None,
    )
    took_s = time.monotonic() - begin
    faults = _faults(result.recording, folder, tuple(p.onset_s for p in result.points))
    if result.error is not None:
        faults.append(str(result.error))
    process = psutil.Process()
    return After(
        tuple(faults),
        len(result.points),
        result.seconds,
        took_s,
        process.memory_info().rss / 1e6,
        threading.active_count(),
        process.num_fds() if hasattr(process, "num_fds") else process.num_handles(),
        sum("resource_tracker" not in " ".join(p.cmdline()) for p in _children(process)),
    )


def _children(process: psutil.Process) -> list[psutil.Process]:
    return [p for p in process.children(recursive=True) if p.status() != psutil.STATUS_ZOMBIE]


def _faults(path: Path | None, folder: Path, points_s: tuple[float, ...]) -> list[str]:
    """Return what is wrong with a recording and its export."""
    if path is None:
        return ["there is no recording"]
    session = read_session(path)
    faults = []
    if tuple(point.onset_s for point in session.points()) != points_s:
        faults.append("the recording holds other points than were given")
    difference = verify(session).difference
    if difference is not None:
        faults.append(f"not proved: {difference}")
    if len(export_all(path, folder / "exports").paths) != 5:
        faults.append("the export is not complete")
    return faults
