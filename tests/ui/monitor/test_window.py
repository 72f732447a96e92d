"""The desk as the process it is: alive when drawn, gone when the host says so or is no more."""

import multiprocessing
from collections.abc import Iterator
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess

import pytest

from engine.session.asks import Heartbeat, Ready
from engine.session.messages import Goodbye
from tests.ui.monitor.fake_host import FakeHost
from ui.monitor.window import main

Child = tuple[SpawnProcess, Connection]


@pytest.fixture
def child() -> Iterator[Child]:
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=main, args=(theirs, None, (1366, 768)), daemon=True)
    process.start()
    theirs.close()
    yield process, ours
    ours.close()
    process.join(5.0)
    if process.exitcode is None:
        process.kill()
        process.join()


def heard(pipe: Connection, kind: type, within_s: float = 20.0) -> object:
    """Wait for a message of one kind."""
    while pipe.poll(within_s):
        message = pipe.recv()
        if isinstance(message, kind):
            return message
    raise AssertionError(f"no {kind.__name__} within {within_s} s")


def test_a_desk_says_ready_draws_beats_and_leaves_at_goodbye(child: Child) -> None:
    process, pipe = child
    assert isinstance(heard(pipe, Ready), Ready)
    host = FakeHost()
    pipe.send(host.hello())
    for _ in range(20):
        for message in host.advance(0.1):
            pipe.send(message)
    beats = [heard(pipe, Heartbeat) for _ in range(2)]
    assert any(isinstance(b, Heartbeat) and b.frames_per_second > 0 for b in beats)
    pipe.send(Goodbye())
    process.join(10.0)
    assert process.exitcode == 0


def test_a_desk_leaves_when_the_host_is_gone(child: Child) -> None:
    process, pipe = child
    heard(pipe, Ready)
    pipe.close()
    process.join(10.0)
    assert process.exitcode == 0


def test_a_desk_that_fails_ends_and_does_not_hang(child: Child) -> None:
    process, pipe = child
    heard(pipe, Ready)
    pipe.send(FakeHost().renew(protocol=None))
    process.join(10.0)
    assert process.exitcode == 1
