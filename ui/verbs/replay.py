"""`nudgeline replay`: a recording streamed over LSL at its true rate."""

from __future__ import annotations

import os
import threading
from argparse import Namespace
from collections.abc import Callable
from pathlib import Path
from typing import Any

from engine.clinic import load_clinic
from engine.errors import bad_value
from engine.stream import network
from engine.stream.files import open_recording
from engine.stream.recorded import only_channel
from ui.verbs.speech import say


def run(
    options: Namespace,
    replay: Callable[..., Any],
    settings_of: Callable[..., Any],
    speeds: tuple[float, float],
) -> int:
    """Open the file, wait for a reader, and stream to the file's end."""
    path = Path(options.file).expanduser()
    settings = settings_of(path, speed=options.speed, unit=options.unit, stream=options.stream)
    low, high = speeds
    if not low <= options.speed <= high:
        raise bad_value("--speed", options.speed, f"{low:g} to {high:g}", "choose one in between")
    recorded = open_recording(path, options.unit, options.stream)
    for remark in recorded.remarks:
        say(remark)
    if options.channel is not None:
        recorded = only_channel(recorded, options.channel)
    network.configure(network.text_for(load_clinic().network, os.environ))
    say(
        f"Streaming {recorded.duration_s / options.speed:.0f} s as {settings.name!r} when a reader "
        "comes (`nudgeline run`); Ctrl-C ends it."
    )
    replay(recorded, settings, threading.Event(), threading.Event())
    say("The recording has ended.")
    return 0
