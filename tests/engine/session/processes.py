"""Which processes still run; one that has ended counts as gone though nobody collected it."""

from __future__ import annotations

import time

import psutil


def still_running(processes: list[psutil.Process], within_s: float) -> list[psutil.Process]:
    """Wait for processes to end, and return those that did not."""
    deadline = time.monotonic() + within_s
    while (left := [p for p in processes if _runs(p)]) and time.monotonic() < deadline:
        time.sleep(0.02)
    return left


def _runs(process: psutil.Process) -> bool:
    try:
        return bool(process.is_running() and process.status() != psutil.STATUS_ZOMBIE)
    except psutil.NoSuchProcess:
        return False
