"""The client display as the process that the host starts."""

import multiprocessing
import os
import signal
from collections.abc import Iterator
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import NamedTuple

import pytest

from engine.session.messages import ClientControl, Goodbye
from tests.ui.client.drawing import frame
from ui.client.window import main

READY_S = 10.0


class Display(NamedTuple):
    process: BaseProcess
    pipe: Connection


@pytest.fixture
def display() -> Iterator[Display]:
    context = multiprocessing.get_context("spawn")
    far, near = context.Pipe(duplex=False)
    ready = context.Event()
    process = context.Process(target=main, args=(far, ready))
    process.start()
    far.close()
    assert ready.wait(READY_S)
    yield Display(process, near)
    near.close()
    process.join(READY_S)
    process.kill()


def test_it_shows_what_it_hears_and_leaves_when_told(display: Display) -> None:
    display.pipe.send(ClientControl(tone=True))
    for points in range(20):
        display.pipe.send(frame(progress=0.5, points=points))
    display.pipe.send(Goodbye())
    display.process.join(READY_S)
    assert display.process.exitcode == 0


def test_it_leaves_when_the_host_is_gone(display: Display) -> None:
    display.pipe.close()
    display.process.join(READY_S)
    assert display.process.exitcode == 0


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C reaches a console's processes, not one")
def test_it_leaves_ctrl_c_to_the_host(display: Display) -> None:
    assert display.process.pid is not None
    os.kill(display.process.pid, signal.SIGINT)
    display.process.join(0.5)
    assert display.process.exitcode is None
    display.pipe.send(Goodbye())
    display.process.join(READY_S)
    assert display.process.exitcode == 0
