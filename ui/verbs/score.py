"""`nudgeline score`: a recording through the same pipeline as a live session."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator
from contextlib import ExitStack
from itertools import chain
from pathlib import Path
from typing import Any

from engine.chunk import Chunk, StreamInfo
from engine.errors import ConfigError
from engine.events import Input, Nudge, RoundStart
from engine.pipeline import Pipeline
from engine.scoring import TraceWriter, score
from engine.session.recording_reader import is_session, read_session
from engine.stream.files import iter_chunks, open_recording
from ui.verbs.choices import chosen_protocol
from ui.verbs.passphrase import passphrase_for
from ui.verbs.speech import print_json, say

_CHUNK = 4096


def run(options: Namespace) -> int:
    """Score a file; print the summary, and write the trace if it is asked for."""
    path = Path(options.file).expanduser()
    protocol = chosen_protocol(options.protocol, options.channel, options.set)
    info, inputs = opened(path, options)
    pipeline = Pipeline(protocol, info.ch_names, info.sfreq)
    with ExitStack() as stack:
        trace = None
        if options.trace:
            file = stack.enter_context(_create(Path(options.trace).expanduser()))
            trace = TraceWriter(file, pipeline.settings.bands)
        result = score(pipeline, inputs, trace)
    if options.json:
        print_json(result)
    else:
        for line in lines(result):
            print(line)
    return 0


def opened(path: Path, options: Namespace) -> tuple[StreamInfo, Iterator[Chunk | Input]]:
    """Return the stream of a file and its inputs: a file of samples is one round from its start.

    A session's own recording brings its rounds, gaps and nudges; ``--set`` replaces its nudges.
    """
    if is_session(path):
        session = read_session(path, passphrase_for(path))
        inputs = session.inputs()
        if options.set:
            inputs = (item for item in inputs if not isinstance(item, Nudge))
        return session.info, inputs
    recorded = open_recording(path, unit=options.unit, stream=options.stream)
    for remark in recorded.remarks:
        say(remark)
    return recorded.info, chain([RoundStart(0)], iter_chunks(recorded, _CHUNK))


def _create(path: Path) -> Any:
    try:
        return path.open("w", encoding="utf-8", newline="")
    except OSError as error:
        raise ConfigError(
            f"--trace is {str(path)!r}, but a file that can be written is needed "
            f"({error.strerror}); choose another place."
        ) from None


def lines(result: dict[str, Any]) -> list[str]:
    """Return the summary for a person to read."""
    rate = result["rate"]
    low, high = result["zone"]
    said = [
        f"{len(result['points'])} points in {result['clear_s'] / 60:.1f} clear minutes of "
        f"{result['duration_s'] / 60:.1f}"
        + (
            ""
            if rate is None
            else f": {rate:.1f} a minute (zone {low:g}-{high:g}, ceiling {result['ceiling']:.0f})"
        ),
        f"hold {result['hold_s']:g} s, quiet {result['quiet_s']:g} s, {result['estimator']}, "
        f"at least {result['delay_s']:.2f} s behind the sensor",
    ]
    for c in result["conditions"]:
        mean, met = c["mean_uv"], c["met_fraction"]
        seen = "no clear signal" if mean is None else f"mean {mean:.2f} µV, met {met:.0%}"
        said.append(
            f"{c['label']} {c['low_hz']:g}-{c['high_hz']:g} Hz {c['direction']} "
            f"{c['threshold_uv']:g} µV {result['scale']}: {seen}"
        )
    return said
