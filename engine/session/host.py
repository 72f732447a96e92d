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
from pathlib import Path

from engine.clinic import Clinic
from engine.errors import ConfigError, NudgelineError
from engine.protocol import Protocol, Rounds
from engine.session.audience import PICTURE_S, Audience, Publisher
from engine.session.children import Children, Patience
from engine.session.conductor import Conductor
from engine.session.foresight import Foreseer
from engine.session.impedances import Reader
from engine.session.interrupt import Interrupt
from engine.session.messages import ClientControl, Reception
from engine.session.parts import Choose, Parts, shown_with
from engine.session.result import SessionResult
from engine.session.window_process import Window
from engine.stream.messages import Source

LOOK_S = 0.02
"""The windows are looked after, and a fault of the disk is passed on, so often."""

ANCHOR_S = 60.0
"""The time of day is noted beside the LSL clock so often."""

Clock = Callable[[], float]

Filed = Callable[[Sequence[Path], str], Sequence[str]]
"""Takes closed recordings and their passphrase; returns sentences for the operator."""


def run_session(
    source: Source,
    protocol: Protocol | None,
    clinic: Clinic,
    windows: Sequence[Window] = (),
    *,
    reception: Reception | None = None,
    choose: Choose | None = None,
    filed: Filed | None = None,
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
    protocol : what is trained; None: the desk chooses, and no stream is opened before.
    windows : what to show. Without a two-way window the run is headless: rounds begin by
        themselves, and what would be asked ends the run with a ConfigError.
    reception : what the desk is told first. choose : finds the protocols that it asks for.
    filed : called with the closed recordings while the windows are still there; the sentences
        that it returns are said to the operator.
    headless_seconds : one round of so many seconds of samples, begun by itself, and then the end.
    by : who nudges and notes, as the log names them; never a client's name.
    clock : seconds on the local LSL clock. say : where sentences go when there is no desk.
    """
    clock = clock or _lsl_clock()
    rounds = None
    if headless_seconds is not None:
        rounds = Rounds(count=1, length_s=headless_seconds, rest_s=0.0)
    reception = reception or Reception(demo=demo)
    children = Children(windows, clock, patience)
    watched = any(window.two_way for window in windows)
    foreseer = Foreseer() if watched else None
    audience = Audience(
        children,
        windows,
        publisher,
        _control(protocol, clinic),
        say or _to_standard_error,
        foreseer,
        reception,
    )
    parts = Parts(
        audience,
        clinic,
        protocol,
        choose or _chosen_before,
        rounds=rounds,
        title=title,
        by=by,
        passphrase=reception.passphrase,
        demo=demo,
        impedances=(lambda: _impedance_inlet(clinic)) if watched else None,
    )
    conductor = Conductor(
        audience,
        windows,
        parts,
        source.answer,
        clock,
        by_itself=headless_seconds is not None or audience.desk is None,
    )
    with Interrupt() as interrupt, ExitStack() as last:
        last.callback(gc.unfreeze)
        last.callback(children.stop)
        if filed is not None:
            last.callback(_file, filed, parts, audience)
        last.callback(parts.let_go)
        last.callback(_close, conductor, parts, clock)
        last.callback(source.stop)
        if foreseer is not None:
            last.callback(foreseer.stop)
        _loop(source, conductor, audience, children, clock, interrupt)
    return _result(conductor, parts)


def _loop(
    source: Source,
    conductor: Conductor,
    audience: Audience,
    children: Children,
    clock: Clock,
    interrupt: Interrupt,
) -> None:
    looked_at = anchored_at = float("-inf")
    started = False
    while not conductor.over:
        if not started and conductor.chosen:
            started = True
            try:
                source.start()
            except NudgelineError as error:
                conductor.fail(error)
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


def _close(conductor: Conductor, parts: Parts, clock: Clock) -> None:
    """End the round, let the windows see it, and close the recording."""
    try:
        parts.close(clock(), conductor.over or "a fault of the program")
    except NudgelineError as error:
        conductor.error = conductor.error or error


def _file(filed: Filed, parts: Parts, audience: Audience) -> None:
    """Hand the closed recordings on, and say what came of it."""
    if parts.paths:
        for sentence in filed(parts.paths, parts.passphrase):
            audience.remark(sentence)


def _result(conductor: Conductor, parts: Parts) -> SessionResult:
    return SessionResult(
        recordings=tuple(parts.paths),
        points=tuple(parts.points),
        seconds=parts.seconds,
        latency=conductor.latency.summary(),
        latency_from_stamp=conductor.latency_from_stamp.summary(),
        ended=conductor.over,
        error=conductor.error,
        summary=parts.summary,
    )


def _chosen_before(protocol: str, site: str) -> Protocol:
    raise ConfigError(
        f"protocol is {protocol!r}, but this session keeps the one that it was started with; "
        "close it and start another."
    )


def _impedance_inlet(clinic: Clinic) -> Reader:
    from engine.stream.impedance import ImpedanceInlet

    return ImpedanceInlet(clinic.contact.impedance_stream, clinic.contact.impedance_unit)


def _control(protocol: Protocol | None, clinic: Clinic) -> ClientControl:
    control = ClientControl(screen=clinic.windows.client_screen)
    return shown_with(protocol, control) if protocol is not None else control


def _lsl_clock() -> Clock:
    from pylsl import local_clock

    clock: Clock = local_clock
    return clock


def _to_standard_error(text: str) -> None:
    print(text, file=sys.stderr)
