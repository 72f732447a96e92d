"""A recording streamed over LSL as if it were happening now.

``speed`` scales how fast samples arrive, never their time stamps: these advance at the file's
own rate, so that a reader measures the same rate at any speed. The stream waits for its reader,
so that every reader gets the file from its first sample. Nothing of the file's name goes into
the stream.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from engine.errors import bad_value
from engine.stream.files import Recorded, open_recording
from simulators.outlet import Event, entered, play
from simulators.steps import CHUNK_S, Close, Described, Open, Push, Step

SPEEDS = (0.1, 100.0)
_FORMATS = {
    np.dtype(np.float32): "float32",
    np.dtype(np.int16): "int16",
    np.dtype(np.int32): "int32",
}


@dataclass(frozen=True)
class ReplaySettings:
    """How to stream a recording.

    A hole in the file lasts as long in the stream, but where ``longest_hole_s`` is given a
    longer one is shortened to it, in arrival and in stamps alike; `shortened` says which.
    """

    path: Path
    speed: float = 1.0
    unit: str | None = None
    stream: str | None = None
    name: str = "Replay"
    longest_hole_s: float | None = None


def main(config_text: str, settings: ReplaySettings, stop: Event, ready: Event) -> None:
    """Entry of a child process: stream the file to its end, or until ``stop`` or an orphan."""
    with entered(config_text):
        recorded = open_recording(settings.path, settings.unit, settings.stream)
        replay(recorded, settings, stop, ready)


def replay(recorded: Recorded, settings: ReplaySettings, stop: Event, ready: Event) -> None:
    """Stream a recording from this process; the network must have been configured."""
    play(replay_steps(recorded, settings), stop, ready, wait_for_reader=True)


def replay_steps(recorded: Recorded, settings: ReplaySettings) -> Iterator[Step]:
    """Yield the whole file as steps; ConfigError when the speed is out of range."""
    if not SPEEDS[0] <= settings.speed <= SPEEDS[1]:
        low, high = SPEEDS
        raise bad_value("--speed", settings.speed, f"{low:g} to {high:g}", "choose one in between")
    return _steps(recorded, settings)


def shortened(recorded: Recorded, settings: ReplaySettings) -> str:
    """Return one sentence on the holes that are shortened, or an empty text."""
    cuts = [
        f"{hole_s:.3g} s at {start_s - hole_s:.1f} s"
        for start_s, hole_s in _holes(recorded)
        if settings.longest_hole_s is not None and hole_s > settings.longest_hole_s
    ]
    if not cuts:
        return ""
    return f"Holes shortened to {settings.longest_hole_s:g} s: {', '.join(cuts)}."


def _steps(recorded: Recorded, settings: ReplaySettings) -> Iterator[Step]:
    sfreq, speed = recorded.info.sfreq, settings.speed
    longest_s = settings.longest_hole_s
    yield Open(0.0, _described(recorded, settings.name))
    removed_s = 0.0
    for segment, (start_s, hole_s) in zip(recorded.segments, _holes(recorded), strict=True):
        if longest_s is not None:
            removed_s += max(0.0, hole_s - longest_s)
        sent, tick = 0, 0
        while sent < len(segment.raw):
            tick += 1
            due = min(len(segment.raw), int(tick * CHUNK_S * speed * sfreq + 1e-6))
            if due > sent:
                stamps_s = start_s - removed_s + np.arange(sent, due) / sfreq
                at_s = (stamps_s[-1] + 1.0 / sfreq) / speed
                yield Push(float(at_s), segment.raw[sent:due], stamps_s)
                sent = due
    yield Close((recorded.duration_s - removed_s) / speed)


def _holes(recorded: Recorded) -> list[tuple[float, float]]:
    """Return each segment's start and the hole before it, seconds."""
    end_s, found = 0.0, []
    for segment in recorded.segments:
        found.append((segment.start_s, segment.start_s - end_s))
        end_s = segment.start_s + len(segment.raw) / recorded.info.sfreq
    return found


def _described(recorded: Recorded, name: str) -> Described:
    info = recorded.info
    first = recorded.segments[0].raw
    told_apart_by = f"{info.ch_names} {recorded.n_samples}".encode() + first[:1000].tobytes()
    return Described(
        name=name,
        source_id="replay-" + hashlib.sha256(told_apart_by).hexdigest()[:16],
        sfreq=info.nominal_sfreq,
        ch_names=info.ch_names,
        units=info.units,
        channel_format=_FORMATS.get(first.dtype, "double64"),
        manufacturer=info.manufacturer,
        reference=info.reference,
    )
