"""Finds processes that a test started and left behind, however deep and however orphaned.

Every process inherits the environment of the test run, so one variable in it marks them all.
"""

import os
from uuid import uuid4

import psutil

MARK = "NUDGELINE_TEST_RUN"
GRACE_S = 3.0

Left = list[tuple[psutil.Process, str]]


def mark_this_run() -> None:
    """Give this run a mark that all its processes will carry."""
    os.environ[MARK] = uuid4().hex


def end_left_behind() -> list[str]:
    """End what still runs after a grace time; one line each: the command and the test."""
    psutil.wait_procs([process for process, _ in _marked()], timeout=GRACE_S)
    left = _marked()
    for process, _ in left:
        process.kill()
    return [line for _, line in left]


def _marked() -> Left:
    found = []
    for process in psutil.process_iter():
        try:
            environment = process.environ()
            command = " ".join(process.cmdline())
        except psutil.Error:
            continue  # gone meanwhile, or another user's
        if environment.get(MARK) != os.environ[MARK] or process.pid == os.getpid():
            continue
        # Python keeps this one for itself until the run ends; it ends by itself.
        if "multiprocessing.resource_tracker" in command or not command:
            continue
        test = environment.get("PYTEST_CURRENT_TEST", "before the first test").split(" (")[0]
        found.append((process, f"{test}: {command}"))
    return found
