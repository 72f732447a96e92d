"""Frames a second and processor share of the desk, fed by a fake host at 50 ticks a second.

Run it as ``python -m tests.benchmarks.bench_desk [seconds] [conditions] [width height]``. The
frames are those that were really painted, the share is of one core, both after a warm-up; the
bounds are 30 frames a second and 60 % of one core, in software rendering.
"""

from __future__ import annotations

import json
import multiprocessing
import sys
import time
from dataclasses import replace

import psutil

from engine.events import Reason
from engine.session.asks import AskNudge, AskRound, Heartbeat
from engine.session.foresight import Foresight
from engine.session.messages import Goodbye
from tests.ui.monitor.fake_host import THREE, TICK_S, FakeHost
from ui.monitor.window import main

WARM_UP_S = 4.0
SESSION_S = 500.0
"""The desk is measured with a full picture: this much of a session lies behind it."""

FORESEEN: list[Foresight] = []
"""One forecast, made before measuring and sent once a second as if it were new."""


def measure(seconds: float, n_conditions: int, size: tuple[int, int]) -> dict[str, float]:
    """Run the desk in a process of its own and return what it took."""
    host = FakeHost(conditions=conditions_of(n_conditions))
    host.ask(AskRound("start"))
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    child = context.Process(target=main, args=(theirs, None, size))
    child.start()
    theirs.close()
    ours.send(host.hello())
    for _ in range(int(SESSION_S / 5)):
        for message in host.advance(5.0):
            ours.send(message)
    FORESEEN[:] = [host.foresight()]
    process = psutil.Process(child.pid)
    rates: list[float] = []
    begin = time.monotonic()
    busy = warm = 0.0
    n_steps = 0
    while (passed := time.monotonic() - begin) < WARM_UP_S + seconds:
        if not warm and passed >= WARM_UP_S:
            warm, busy = passed, used(process)
        step(host, ours, n_steps)
        n_steps += 1
        while ours.poll():
            said = ours.recv()
            if isinstance(said, Heartbeat) and warm and passed - warm >= 1.0:
                rates.append(said.frames_per_second)
        time.sleep(max(0.0, begin + n_steps * TICK_S - time.monotonic()))
    share = (used(process) - busy) / (time.monotonic() - begin - warm)
    ours.send(Goodbye())
    child.join(5.0)
    rates.sort()
    return {
        "frames_per_second_median": rates[len(rates) // 2],
        "frames_per_second_least": rates[0],
        "cpu_share": round(share, 3),
    }


def conditions_of(n: int) -> tuple:  # type: ignore[type-arg]
    """Return so many conditions, each of a name of its own."""
    return tuple(
        replace(THREE[i % 3], band=f"band{i}", label=f"{THREE[i % 3].label} {i + 1}")
        for i in range(n)
    )


def step(host: FakeHost, pipe: multiprocessing.connection.Connection, number: int) -> None:
    """Send one tick; ten times a second a status, now and then a blink and a nudge."""
    if number % 300 == 100:
        host.hide(0.8, Reason.AMPLITUDE)
    if number % 500 == 400:
        host.ask(AskNudge(host.settings.keys[0], "key", steps=1))
    *said, status = host.advance(TICK_S)
    for message in said:
        pipe.send(message)
    if number % 5 == 0:
        pipe.send(status)
    if number % 50 == 25:
        pipe.send(replace(FORESEEN[0], settings=host.settings))


def used(process: psutil.Process) -> float:
    """Return the processor seconds that a process has used."""
    times = process.cpu_times()
    return float(times.user + times.system)


if __name__ == "__main__":
    words = [float(word) for word in sys.argv[1:]]
    seconds, n, width, height = [*words, *(20.0, 3.0, 1920.0, 1080.0)[len(words) :]]
    print(json.dumps(measure(seconds, int(n), (int(width), int(height)))))
