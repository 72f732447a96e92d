"""What the host takes, and what a kill takes from it.

``python -m tests.benchmarks.bench_host latency [seconds]`` — from a sample's arrival to its tick
being handed to both windows, and to the point being read in another process; the bounds are a
median of 5 ms and a 99th percentile of 20 ms.
``... memory [hours]`` — growth of the process after the first ten minutes of stream, as fast as
it goes; the bound is 5 MB in four hours.
``... kill [times]`` — recordings killed at moments of chance; nothing acknowledged may be missing.
``... write [seconds]`` — how far the disk is behind; the bound is one second.
"""

from __future__ import annotations

import json
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import numpy as np
import psutil

from engine.chunk import chunk_of
from engine.clinic import Clinic
from engine.events import Note, PointEarned
from engine.session.asks import AskNote, Ready
from engine.session.host import run_session
from engine.session.messages import Goodbye
from engine.session.recording import Recording
from engine.session.recording_reader import RecordedSession, read_session
from engine.session.result import SessionResult
from engine.session.window_process import Pulse, Window
from engine.stream.messages import Data, Opened, Segment, SourceMessage
from tests.engine.session.examples import INFO, PROTOCOL, noise, rhythm
from tests.engine.session.fakes import ScriptedClock, ScriptedSource
from tests.engine.session.killing import faults_after_a_kill
from tests.engine.session.test_recording import begun

CHUNK = 5
PAUSE_S = 0.015
HERE = "tests.benchmarks.bench_host"


def desk(connection: Connection, ready: Pulse) -> None:
    """Note the moment at which each point arrives."""
    connection.send(Ready())
    while not isinstance(said := connection.recv(), Goodbye):
        if isinstance(said, PointEarned):
            connection.send(AskNote(repr(time.monotonic())))


def client(connection: Connection, ready: Pulse) -> None:
    """Only read."""
    ready.set()
    while not isinstance(connection.recv(), Goodbye):
        ready.set()


class Amplifier:
    """Delivers 5 samples every 20 ms, from a thread of its own."""

    def __init__(self, seconds: float):
        import queue

        self._seconds = seconds
        self._queue: queue.SimpleQueue[SourceMessage] = queue.SimpleQueue()
        self._empty = queue.Empty
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def start(self) -> None:
        self._thread.start()

    def get(self, timeout_s: float) -> SourceMessage | None:
        try:
            return self._queue.get(timeout=timeout_s)
        except self._empty:
            return None

    def answer(self, key: str, value: str) -> None: ...

    def stop(self) -> None:
        self._stop.set()
        self._thread.join()

    def _run(self) -> None:
        raw = rhythm(self._seconds)
        self._queue.put(Opened(INFO))
        self._queue.put(Segment(0.0, "start"))
        begin = time.monotonic()
        for i in range(0, raw.shape[0], CHUNK):
            due = begin + (i + CHUNK) / INFO.sfreq
            if self._stop.wait(max(0.0, due - time.monotonic())):
                return
            stamps = begin + np.arange(i, i + CHUNK) / INFO.sfreq
            chunk = chunk_of(raw[i : i + CHUNK], INFO.to_uv, stamps, time.monotonic())
            self._queue.put(Data(chunk))


def latency(seconds: float = 60.0) -> dict[str, Any]:
    """Run a session with two windows at true rate."""
    windows = (
        Window("desk", f"{HERE}:desk", two_way=True),
        Window("client display", f"{HERE}:client"),
    )
    process = psutil.Process()
    with tempfile.TemporaryDirectory() as folder:
        result = run_session(
            Amplifier(seconds + 10),
            PROTOCOL,
            Clinic(recordings=Path(folder) / "recordings"),
            windows,
            headless_seconds=seconds,
            clock=time.monotonic,
        )
        used = process.cpu_times()
        arrivals = list(point_arrivals(result))
    return {
        "ticks": result.latency.n,
        "median_ms": result.latency.median_ms,
        "p99_ms": result.latency.p99_ms,
        "points": len(arrivals),
        "point_read_by_window_ms": {
            "median": round(float(np.median(arrivals)), 2),
            "worst": round(max(arrivals), 2),
        },
        "host_cpu_share": round((used.user + used.system) / seconds, 3),
    }


def point_arrivals(result: SessionResult) -> Iterator[float]:
    """Yield, a point, milliseconds from its last sample's arrival to the window's reading it."""
    assert result.recording is not None
    session = read_session(result.recording)
    ends, arrivals = chunk_ends(session)
    read = [float(event.text) for event in session.events() if isinstance(event, Note)]
    for point, at in zip(session.points(), read, strict=False):
        arrived = arrivals[np.searchsorted(ends, point.sample, side="right")]
        yield (at - arrived) * 1000


def chunk_ends(session: RecordedSession) -> tuple[np.ndarray, np.ndarray]:
    """Return (samples before the end of each chunk, its arrival)."""
    chunks = list(session.chunks())
    ends = np.cumsum([chunk.n_samples for chunk in chunks])
    return ends, np.array([chunk.arrival_s for chunk in chunks])


def memory(hours: float = 4.0) -> dict[str, Any]:
    """Feed a long stream headless and watch the process; every 2 s of it the disk gets a moment."""
    process = psutil.Process()
    seen: list[tuple[float, float]] = []
    clock = ScriptedClock()

    def script() -> Iterator[SourceMessage | None]:
        yield Opened(INFO)
        yield Segment(0.0, "start")
        minute = rhythm(60.0)
        for number in range(round(hours * 60) + 1):
            seen.append((number, process.memory_info().rss / 1e6))
            for i in range(0, minute.shape[0], 25):
                if i % 500 == 0:
                    time.sleep(PAUSE_S)
                yield Data(chunk_of(minute[i : i + 25], INFO.to_uv, None, clock.now + 0.1))

    with tempfile.TemporaryDirectory() as folder:
        result = run_session(
            ScriptedSource(script(), clock),
            PROTOCOL,
            Clinic(recordings=Path(folder) / "recordings"),
            headless_seconds=hours * 3600,
            clock=clock,
        )
    after = [mb for minute, mb in seen if minute >= 10]
    return {
        "hours": result.seconds / 3600,
        "points": len(result.points),
        "mb_after_10_minutes": round(after[0], 1),
        "mb_at_the_end": round(after[-1], 1),
        "growth_mb": round(after[-1] - after[0], 1),
        "mb_every_half_hour": [round(mb, 1) for minute, mb in seen if minute % 30 == 0],
    }


def kill(times: float = 100) -> dict[str, Any]:
    """Kill recordings; return what is wrong with what is left."""
    faults: list[str] = []
    for seed in range(1000, 1000 + int(times)):
        with tempfile.TemporaryDirectory() as folder:
            faults += faults_after_a_kill(Path(folder), seed)
    return {"kills": int(times), "faults": faults}


def write(seconds: float = 20.0) -> dict[str, Any]:
    """Record a stream of 64 channels at 2048 Hz, and see how old what is not saved gets."""
    with tempfile.TemporaryDirectory() as folder:
        recording: Recording = begun(Path(folder))
        raw = np.tile(noise(40).raw, (1, 32))
        behind: list[float] = []
        handed: list[float] = []
        begin = time.monotonic()
        while (now := time.monotonic()) - begin < seconds:
            recording.samples(40 * len(handed), chunk_of(raw, (1.0,) * 64))
            handed.append(now)
            n_saved = recording.saved[0] // 40
            behind.append(now - handed[n_saved] if n_saved < len(handed) else 0.0)
            time.sleep(max(0.0, begin + len(handed) * 40 / 2048 - time.monotonic()))
        recording.close()
    return {
        "behind_s": {"median": round(float(np.median(behind)), 3), "worst": round(max(behind), 3)},
        "mb_a_minute": round(raw.nbytes * 2048 / 40 * 60 / 1e6, 1),
    }


if __name__ == "__main__":
    run = {"latency": latency, "memory": memory, "kill": kill, "write": write}[sys.argv[1]]
    print(json.dumps(run(*(float(word) for word in sys.argv[2:])), indent=1))
