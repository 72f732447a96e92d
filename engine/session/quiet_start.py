"""Starting a child process that never sees Ctrl-C."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing import resource_tracker


@contextmanager
def no_interrupt() -> Iterator[None]:
    """Let a process that is started here never see Ctrl-C, which is the host's to answer."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    # Python's own tracker of what processes share starts with the first of them, and would
    # let the signal through again.
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
