"""The host of a session: it brings the source, the session, the recording and the windows together.

Concurrent activities: the source's thread fills a lossless queue; this loop, alone, takes from it,
runs the session and hands everything on; the recording's thread waits for the disk; a writer and a
reader thread a window wait for the windows. The loop itself waits for nothing but the source, and
for that no longer than the next picture.
"""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from datetime import UTC, datetime

from engine.chunk import StreamInfo
from engine.clinic import Clinic, make_recordings_folder
from engine.errors import NudgelineError
from engine.pipeline import Pipeline
from engine.protocol import Protocol, Rounds
from engine.session.audience import PICTURE_S, Audience, Publisher
from engine.session.children import Children, Patience
from engine.session.conductor import Conductor
from engine.session.description import filters_of, plan_values, program_version
from engine.session.foresight import Foreseer
from engine.session.interrupt import Interrupt
from engine.session.live import LiveSession
from engine.session.messages import ClientControl
from engine.session.recording import Recording
from engine.session.result import SessionResult
from engine.session.window_process import Window
from engine.stream.messages import Source

LOOK_S = 0.02
"""The windows are looked after, and a fault of the disk is passed on, so often."""

ANCHOR_S = 60.0
"""The time of day is noted beside the LSL clock so often."""

Clock = Callable[[], float]


def run_session(
    source: Source,
    protocol: Protocol,
    clinic: Clinic,
    windows: Sequence[Window] = (),
    *,
    headless_seconds: float | None = None,
    publisher: Publisher | None = None,
    title: str = "Nudgeline",
    by: str = "operator",
    demo: bool = False,
    clock: Clock | None = None,
    patience: Patience | None = None,
    say: Callable[[str], None] | None = None,
) -> SessionResult:
    """Run one session until it is closed, done or failed; nothing of it is left running.

    Parameters
    ----------
    windows : what to show. Without a two-way window the run is headless: rounds begin by
        themselves, and what would be asked ends the run with a ConfigError.
    headless_seconds : one round of so many seconds of samples, begun by itself, and then the end.
    by : who nudges and notes, as the log names them; never a client's name.
    clock : seconds on the local LSL clock. say : where sentences go when there is no desk.
    """
    clock = clock or _lsl_clock()
    rounds = protocol.rounds
    if headless_seconds is not None:
        rounds = Rounds(count=1, length_s=headless_seconds, rest_s=0.0)
    children = Children(windows, clock, patience)
    control = _control(protocol, clinic)
    watched = any(window.two_way for window in windows)
    foreseer = Foreseer() if watched else None
    audience = Audience(children, windows, publisher, control, say or _to_standard_error, foreseer)

    def open_live(info: StreamInfo) -> LiveSession:
        pipeline = Pipeline(protocol, info.ch_names, info.sfreq)
        folder = make_recordings_folder(clinic)
        recording = Recording(folder, f"{datetime.now(UTC):%Y%m%d-%H%M%S}-{protocol.slug}")
        plan = pipeline.plan
        recording.begin(protocol, info, program_version(), plan_values(plan, pipeline.settings))
        for name, taps in filters_of(plan).items():
            recording.taps(name, taps)
        live = LiveSession(protocol, pipeline, recording, audience.hear, rounds=rounds, by=by)
        audience.opened(live, info, title, demo)
        gc.collect()
        gc.freeze()  # what stands now stands to the end, and is not looked through again
        return live

    conductor = Conductor(
        audience,
        windows,
        open_live,
        source.answer,
        clock,
        by_itself=headless_seconds is not None or audience.desk is None,
    )
    with Interrupt() as interrupt, ExitStack() as last:
        last.callback(gc.unfreeze)
        last.callback(children.stop)
        last.callback(_close, conductor, audience, clock)
        last.callback(source.stop)
        if foreseer is not None:
            last.callback(foreseer.stop)
        _loop(source, conductor, audience, children, clock, interrupt)
    return _result(conductor)


def _loop(
    source: Source,
    conductor: Conductor,
    audience: Audience,
    children: Children,
    clock: Clock,
    interrupt: Interrupt,
) -> None:
    looked_at = anchored_at = float("-inf")
    try:
        source.start()
    except NudgelineError as error:
        conductor.fail(error)
    while not conductor.over:
        message = source.get(PICTURE_S / 2)
        if message is not None:
            conductor.source_said(message)
        now = clock()
        if now - looked_at >= LOOK_S:
            looked_at = now
            for happening in children.poll():
                conductor.window_happened(happening)
            conductor.look()
        for ask in children.asks():
            conductor.asked(ask)
        if conductor.live is not None:
            for remark in conductor.live.recording.take_remarks():
                audience.remark(remark.text, grave=remark.grave)
            if now - anchored_at >= ANCHOR_S:
                anchored_at = now
                conductor.live.recording.anchor(now)
        audience.pictures(now)
        if interrupt.asked:
            conductor.over = interrupt.asked


def _close(conductor: Conductor, audience: Audience, clock: Clock) -> None:
    """End the round, let the windows see it, and close the recording."""
    live = conductor.live
    if live is None:
        return
    live.end("session closed")
    audience.tell_status()
    live.recording.anchor(clock())
    live.recording.meta("ended", conductor.over or "a fault of the program")
    try:
        live.recording.close()
    except NudgelineError as error:
        conductor.error = conductor.error or error


def _result(conductor: Conductor) -> SessionResult:
    live = conductor.live
    return SessionResult(
        recording=live.recording.path if live is not None else None,
        points=tuple(live.points) if live is not None else (),
        seconds=live.pipeline.sample / live.pipeline.plan.sfreq if live is not None else 0.0,
        latency=conductor.latency.summary(),
        latency_from_stamp=conductor.latency_from_stamp.summary(),
        ended=conductor.over,
        error=conductor.error,
        summary=live.summary() if live is not None else {},
    )


def _control(protocol: Protocol, clinic: Clinic) -> ClientControl:
    scene = protocol.client
    return ClientControl(
        scene=scene.scene,
        closeness=scene.closeness,
        tone=scene.tone,
        volume=scene.volume,
        screen=clinic.windows.client_screen,
    )


def _lsl_clock() -> Clock:
    from pylsl import local_clock

    clock: Clock = local_clock
    return clock


def _to_standard_error(text: str) -> None:
    print(text, file=sys.stderr)
