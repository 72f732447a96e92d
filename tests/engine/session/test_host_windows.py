"""Sessions with windows that are real processes, but without a picture."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import psutil
import pytest

from engine.clinic import Clinic
from engine.events import Event, HoldOff, HoldOffEnd, Note, RoundStart, WindowLost, WindowReturned
from engine.session.children import Patience
from engine.session.host import run_session
from engine.session.recording_reader import RecordedSession, read_session
from engine.session.result import SessionResult
from engine.session.window_process import Window
from engine.stream.messages import Data, Opened, Segment, SourceMessage
from tests.engine.session.examples import INFO, PROTOCOL, chunks_of, rhythm
from tests.engine.session.fakes import Outlets, ScriptedSource
from tests.engine.session.processes import still_running

ROOT = Path(__file__).resolve().parents[3]
QUICK = Patience(silent_s=0.5, first_wait_s=0.01, longest_wait_s=0.05, goodbye_s=1.0)


def window(kind: str, name: str, *, two_way: bool = False) -> Window:
    return Window(name, f"tests.engine.session.windows:{kind}", two_way=two_way)


def stream_while(
    goes_on: Callable[[], bool], within_s: float = 30.0
) -> Iterator[SourceMessage | None]:
    """Give a stream at about its true rate for as long as wanted."""
    yield Opened(INFO)
    yield Segment(0.0, "start")
    deadline = time.monotonic() + within_s
    for chunk in chunks_of(rhythm(within_s), size=5):
        if not goes_on():
            return
        assert time.monotonic() < deadline
        yield Data(chunk)
        for _ in range(4):
            yield None


class Run:
    """A session with windows, which goes on until an event of ``until`` came."""

    def __init__(self, folder: Path, until: type, *windows: Window, patience: Patience = QUICK):
        self.came = False
        self.longest_pause_s = 0.0  # between two times that the loop came for a message
        self.outlets = Outlets(self._see)
        self._until = until
        self.said: list[str] = []
        self.result: SessionResult = run_session(
            ScriptedSource(self._script()),
            PROTOCOL,
            Clinic(recordings=folder / "recordings"),
            windows,
            publisher=self.outlets,
            patience=patience,
            clock=time.monotonic,
            say=self.said.append,
        )
        children = psutil.Process().children(recursive=True)
        self.left_behind = [c for c in children if "spawn_main" in " ".join(c.cmdline())]

    def _see(self, event: Event) -> None:
        self.came = self.came or isinstance(event, self._until)

    def _script(self) -> Iterator[SourceMessage | None]:
        before = time.monotonic()
        for message in stream_while(lambda: not self.came):
            yield message
            self.longest_pause_s = max(self.longest_pause_s, time.monotonic() - before)
            before = time.monotonic()
        os.kill(os.getpid(), signal.SIGINT)

    def recorded(self) -> RecordedSession:
        assert self.result.recording is not None
        return read_session(self.result.recording)

    def log(self, *kinds: type) -> list[Event]:
        return [event for event in self.recorded().events() if isinstance(event, kinds)]


def test_a_client_display_that_dies_is_back_and_the_log_tells_it(tmp_path: Path) -> None:
    run = Run(
        tmp_path,
        WindowReturned,
        window("faithful", "desk", two_way=True),
        window("dies", "client display"),
    )
    lost, returned = run.log(WindowLost, WindowReturned)[:2]
    assert isinstance(lost, WindowLost)
    assert (lost.window, lost.why) == ("client display", "it ended with status 3")
    assert isinstance(returned, WindowReturned)
    assert returned.sample >= lost.sample
    assert HoldOff(lost.sample, "the client display is gone") in run.log(HoldOff)
    assert HoldOffEnd(returned.sample, "the client display is gone") in run.log(HoldOffEnd)
    assert run.left_behind == []
    assert run.result.exit_status == 0


def test_a_window_that_hangs_is_replaced_while_the_recording_goes_on(tmp_path: Path) -> None:
    patience = replace(QUICK, silent_s=4.0)
    run = Run(
        tmp_path,
        WindowLost,
        window("hangs", "desk", two_way=True),
        window("faithful", "client display"),
        patience=patience,
    )
    (lost,) = run.log(WindowLost)
    assert isinstance(lost, WindowLost)
    assert lost.window == "desk"
    assert lost.why.startswith("it did not answer for")
    assert run.recorded().n_samples > 0
    assert run.longest_pause_s < patience.silent_s / 2  # it never waited for the window
    assert run.left_behind == []


def test_windows_that_never_open_leave_a_headless_run_that_says_so(tmp_path: Path) -> None:
    run = Run(
        tmp_path,
        RoundStart,
        window("dies_at_once", "desk", two_way=True),
        window("dies_at_once", "client display"),
    )
    assert run.log(RoundStart)
    assert any(said.startswith("The desk could not be opened") for said in run.said)
    assert run.left_behind == []


def test_closing_the_desk_closes_the_recording_and_every_window(tmp_path: Path) -> None:
    run = Run(
        tmp_path,
        Note,  # never comes: the desk ends the session
        window("quitter", "desk", two_way=True),
        window("faithful", "client display"),
    )
    assert run.result.ended == "the operator closed the session"
    assert run.recorded().ended == run.result.ended
    assert run.left_behind == []
    assert run.result.exit_status == 0


_HOST = """
import sys
import time
from pathlib import Path

from engine.clinic import Clinic
from engine.session.host import run_session
from tests.engine.session.examples import PROTOCOL
from tests.engine.session.fakes import ScriptedSource
from tests.engine.session.test_host_windows import stream_while, window

if __name__ == "__main__":
    result = run_session(
        ScriptedSource(stream_while(lambda: True)),
        PROTOCOL,
        Clinic(recordings=Path(sys.argv[1])),
        [window("faithful", "desk", two_way=True), window("hangs", "client display")],
        clock=time.monotonic,
    )
    print(result.ended)
    sys.exit(result.exit_status)
"""


N_CHILDREN = 3
"""Two windows, and the process that forecasts for the desk."""


def running_host(folder: Path) -> tuple["subprocess.Popen[str]", list[psutil.Process]]:
    """Start a host with two windows in a process group of its own; return it and its windows."""
    script = folder / "host.py"
    script.write_text(_HOST)
    host = subprocess.Popen(
        [sys.executable, str(script), str(folder / "recordings")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        text=True,
        start_new_session=True,
    )
    deadline = time.monotonic() + 20
    while time.monotonic() < deadline:
        windows = [
            child
            for child in psutil.Process(host.pid).children()
            if "spawn_main" in " ".join(child.cmdline())
        ]
        recordings = list((folder / "recordings").glob("*-wal"))
        if len(windows) == N_CHILDREN and recordings and recordings[0].stat().st_size > 150_000:
            return host, windows
        time.sleep(0.02)
    host.kill()
    raise AssertionError(host.communicate())


@pytest.mark.skipif(os.name == "nt", reason="Windows has no process groups to signal")
def test_ctrl_c_on_the_terminal_ends_all_in_order_and_silently(tmp_path: Path) -> None:
    host, windows = running_host(tmp_path)
    os.killpg(host.pid, signal.SIGINT)
    out, err = host.communicate(timeout=20)
    assert (host.returncode, out, err) == (0, "Ctrl-C\n", "")
    assert not any(process.is_running() for process in windows)
    (path,) = (tmp_path / "recordings").iterdir()
    assert read_session(path).ended == "Ctrl-C"


def test_a_host_that_is_killed_leaves_a_whole_recording_and_no_window(tmp_path: Path) -> None:
    host, windows = running_host(tmp_path)
    host.kill()
    host.wait(timeout=10)
    assert still_running(windows, within_s=15) == []  # one of them hangs
    host.communicate()
    (path,) = (tmp_path / "recordings").glob("*.sqlite")
    recorded = read_session(path)
    assert recorded.n_samples > 0
    assert recorded.ended == ""
