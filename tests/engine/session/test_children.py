import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import psutil
import pytest

from engine.session.asks import AskNote, AskQuit, Ready
from engine.session.children import (
    Children,
    Happening,
    Patience,
    WindowGivenUp,
    WindowGone,
    WindowReady,
)
from engine.session.messages import Batch, Remark
from engine.session.window_process import Window
from tests.engine.session.processes import still_running

ROOT = Path(__file__).resolve().parents[3]
QUICK = Patience(silent_s=0.3, first_wait_s=0.01, longest_wait_s=0.02, goodbye_s=1.0)

Start = Callable[..., Children]


def window(kind: str, *, two_way: bool = False) -> Window:
    return Window(kind, f"tests.engine.session.windows:{kind}", two_way=two_way)


@pytest.fixture
def start() -> Iterator[Start]:
    """Start windows, and see them all gone at the end."""
    started: list[Children] = []

    def start(*windows: Window, patience: Patience = QUICK) -> Children:
        started.append(Children(windows, time.monotonic, patience))
        return started[-1]

    yield start
    for children in started:
        children.stop()
    assert multiprocessing_children() == []


def multiprocessing_children() -> list[str]:
    """What this process has started and is still there, but for Python's own tracker."""
    children = psutil.Process().children(recursive=True)
    lines = [" ".join(child.cmdline()) for child in children]
    return [line for line in lines if "spawn_main" in line]


def until(children: Children, kind: type, within_s: float = 20.0) -> list[Happening]:
    """Poll until something of ``kind`` happens; return all that happened."""
    happened: list[Happening] = []
    deadline = time.monotonic() + within_s
    while not any(isinstance(item, kind) for item in happened):
        assert time.monotonic() < deadline, f"no {kind.__name__}, only {happened}"
        happened += children.poll()
        time.sleep(0.002)
    return happened


def asked(children: Children, kind: type, within_s: float = 20.0) -> list[Any]:
    asks: list[Any] = []
    deadline = time.monotonic() + within_s
    while not any(isinstance(ask, kind) for ask in asks):
        assert time.monotonic() < deadline, f"no {kind.__name__}, only {asks}"
        children.poll()
        asks += children.asks()
        time.sleep(0.002)
    return asks


def test_a_desk_is_told_and_asks(start: Start) -> None:
    children = start(window("echo", two_way=True))
    assert until(children, WindowReady) == [WindowReady(window("echo", two_way=True))]
    children.send("echo", Remark("hello"))
    asks = asked(children, AskNote)
    assert asks == [Ready(), AskNote("Remark Remark(text='hello', grave=False)")]


def test_the_last_words_of_a_desk_are_heard(start: Start) -> None:
    children = start(window("quitter", two_way=True))
    until(children, WindowReady)
    children.send("quitter", Remark("close"))
    happened = until(children, WindowGone)
    assert happened == [WindowGone(window("quitter", two_way=True), "it ended with status 0", True)]
    assert AskQuit() in children.asks()


def test_a_window_that_dies_is_started_again(start: Start) -> None:
    children = start(window("dies"))
    until(children, WindowReady)
    (before,) = children.pids()
    children.send("dies", Remark("die"))
    assert until(children, WindowGone) == [
        WindowGone(window("dies"), "it ended with status 3", False)
    ]
    assert until(children, WindowReady) == [WindowReady(window("dies"))]
    (after,) = children.pids()
    assert after != before


def test_a_window_that_fails_says_why(start: Start, capfd: pytest.CaptureFixture[str]) -> None:
    children = start(window("raises"))
    until(children, WindowReady)
    children.send("raises", Remark("fail"))
    (gone,) = until(children, WindowGone)
    assert isinstance(gone, WindowGone)
    assert gone.why.startswith("ValueError: no such scene (tests.engine.session.windows ")
    assert "Traceback" not in capfd.readouterr().err


def test_a_window_that_hangs_holds_nobody_up_and_is_made_to_go(start: Start) -> None:
    children = start(window("hangs"))
    until(children, WindowReady)
    (pid,) = children.pids()
    longest = 0.0
    happened: list[Happening] = []
    while not happened:
        before = time.monotonic()
        children.send("hangs", Batch((), np.zeros((10_000, 2))))
        happened += children.poll()
        longest = max(longest, time.monotonic() - before)
        time.sleep(0.005)
    (gone,) = happened
    assert isinstance(gone, WindowGone)
    assert gone.why.startswith("it did not answer for")
    assert longest < 0.25
    children.stop()
    assert not psutil.pid_exists(pid)


def test_a_window_that_falls_silent_is_started_again(start: Start) -> None:
    children = start(window("falls_silent", two_way=True))
    until(children, WindowReady)
    (gone,) = until(children, WindowGone)
    assert isinstance(gone, WindowGone)
    assert gone.why.startswith("it did not answer for")


@pytest.mark.parametrize(
    ("kind", "why"),
    [("never_ready", "it was not ready in 0.5 s"), ("dies_at_once", "it ended with status 7")],
)
def test_a_window_that_fails_to_get_ready_twice_is_given_up(
    kind: str, why: str, start: Start
) -> None:
    patience = Patience(ready_s=0.5, first_wait_s=0.01)
    if kind == "dies_at_once":
        patience = Patience(first_wait_s=0.01)
    children = start(window(kind), patience=patience)
    assert until(children, WindowGivenUp) == [WindowGivenUp(window(kind), why)]
    assert children.poll() == []
    assert children.pids() == ()
    assert not children.is_ready(kind)


def test_a_message_to_a_window_that_is_not_there_is_not_kept(start: Start) -> None:
    children = start(window("never_ready"))
    children.send("never_ready", Remark("nobody hears"))
    children.poll()
    children.send("never_ready", Remark("nobody hears"))


def test_standard_output_stays_the_hosts(start: Start, capfd: pytest.CaptureFixture[str]) -> None:
    children = start(window("chatty"))
    until(children, WindowReady)
    children.send("chatty", Remark("end"))
    until(children, WindowGone)
    captured = capfd.readouterr()
    assert captured.out == ""
    assert "a window speaks" in captured.err


_HOST = """
import time
from engine.session.children import Children
from engine.session.window_process import Window
from tests.engine.session.processes import still_running

if __name__ == "__main__":
    target = "tests.engine.session.windows:faithful"
    windows = [Window("one", target), Window("two", target, two_way=True)]
    children = Children(windows, time.monotonic)
    while not (children.is_ready("one") and children.is_ready("two")):
        children.poll()
        time.sleep(0.01)
    print(*children.pids(), flush=True)
    time.sleep(600)
"""


def host_with_two_windows(folder: Path) -> tuple["subprocess.Popen[str]", list[psutil.Process]]:
    script = folder / "host.py"
    script.write_text(_HOST)
    host = subprocess.Popen(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        text=True,
    )
    assert host.stdout is not None
    return host, [psutil.Process(int(pid)) for pid in host.stdout.readline().split()]


def test_windows_leave_when_the_host_is_killed(tmp_path: Path) -> None:
    host, windows = host_with_two_windows(tmp_path)
    assert len(windows) == 2
    host.kill()
    host.communicate()
    assert still_running(windows, within_s=10) == []


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such signal for one process")
def test_windows_leave_ctrl_c_to_the_host(tmp_path: Path) -> None:
    host, windows = host_with_two_windows(tmp_path)
    for process in windows:
        process.send_signal(signal.SIGINT)
    assert len(still_running(windows, within_s=0.3)) == 2
    host.kill()
    host.communicate()
    assert still_running(windows, within_s=10) == []
