"""A simulated amplifier as a process of its own, gone when the `with` block ends."""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterator
from contextlib import contextmanager

from engine.errors import SourceError
from simulators import outlet
from simulators.outlet import OutletSettings
from simulators.pipe_event import pipe_event

OPEN_WITHIN_S = 20.0
END_WITHIN_S = 3.0


@contextmanager
def running(config_text: str, settings: OutletSettings) -> Iterator[None]:
    """Stream ``settings`` over LSL until the block ends; SourceError when it does not open."""
    context = multiprocessing.get_context("spawn")
    stopped, stop = pipe_event()
    ready, opened = pipe_event()
    process = context.Process(target=outlet.main, args=(config_text, settings, stopped, opened))
    process.start()
    try:
        if not ready.wait(OPEN_WITHIN_S):
            raise SourceError(
                f"The simulated amplifier is not there, but it opens within {OPEN_WITHIN_S:g} s; "
                "start the program again."
            )
        yield
    finally:
        stop.set()
        process.join(END_WITHIN_S)
        if process.is_alive():
            process.kill()
            process.join()
