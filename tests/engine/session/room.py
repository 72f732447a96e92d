"""A room with a session's desk and its client display, without processes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

from engine.clinic import Clinic, ContactLimits
from engine.errors import ConfigError
from engine.protocol import Protocol
from engine.session.audience import Audience
from engine.session.children import Children, WindowGone, WindowReady
from engine.session.conductor import Conductor
from engine.session.impedances import Reader
from engine.session.live import LiveSession
from engine.session.messages import ClientControl
from engine.session.parts import Parts
from engine.session.window_process import Window
from engine.stream.messages import Data, Opened, Segment
from tests.engine.session.examples import INFO, PROTOCOL, chunks_of, rhythm
from tests.engine.session.fakes import ScriptedClock, ScriptedSource

DESK = Window("desk", "nowhere:main", needed=True, two_way=True)
CLIENT = Window("client display", "nowhere:main", needed=True)


PROTOCOLS = {"smr-up-c4": PROTOCOL, "longer-hold": replace(PROTOCOL, name="Longer", hold_s=0.75)}


class Windows:
    """Stands in for the processes: who is ready, and what each was sent."""

    def __init__(self) -> None:
        self.ready: set[str] = set()
        self.sent: list[tuple[str, Any]] = []

    def is_ready(self, name: str) -> bool:
        return name in self.ready

    def send(self, name: str, message: Any) -> None:
        if name in self.ready:
            self.sent.append((name, message))


class Room:
    """A session with a desk and a client display in one room."""

    def __init__(
        self,
        folder: Path,
        *,
        by_itself: bool = False,
        protocol: Protocol | None = PROTOCOL,
        contact: ContactLimits | None = None,
        impedances: Callable[[], Reader] | None = None,
    ):
        self.windows = Windows()
        self.clock = ScriptedClock()
        self.source = ScriptedSource(iter(()), self.clock)
        self.said: list[str] = []
        self.audience = Audience(
            cast(Children, self.windows), (DESK, CLIENT), None, ClientControl(), self.said.append
        )
        self.folder = folder
        clinic = Clinic(recordings=folder, contact=contact or ContactLimits())
        self.parts = Parts(
            self.audience,
            clinic,
            protocol,
            self.choose,
            title="a title",
            impedances=impedances,
        )
        self.conductor = Conductor(
            self.audience,
            (DESK, CLIENT),
            self.parts,
            self.source.answer,
            self.clock,
            by_itself=by_itself,
        )

    def choose(self, name: str, site: str) -> Protocol:
        if name not in PROTOCOLS:
            raise ConfigError(
                f"protocol is {name!r}, but one of {', '.join(PROTOCOLS)} is accepted."
            )
        return PROTOCOLS[name] if not site else replace(PROTOCOLS[name], site=site)

    @property
    def live(self) -> LiveSession:
        assert self.conductor.live is not None
        return self.conductor.live

    def ready(self, window: Window) -> None:
        self.windows.ready.add(window.name)
        self.conductor.window_happened(WindowReady(window))

    def gone(self, window: Window, why: str = "it ended with status 3", left: bool = False) -> None:
        self.windows.ready.discard(window.name)
        self.conductor.window_happened(WindowGone(window, why, left))

    def opened(self) -> None:
        self.conductor.source_said(Opened(INFO, 250.1))
        self.conductor.source_said(Segment(0.0, "start"))

    def data(self, seconds: float) -> None:
        for chunk in chunks_of(rhythm(seconds)):
            self.clock.now += chunk.n_samples / INFO.sfreq
            self.conductor.source_said(Data(chunk))
            self.audience.pictures(self.clock.now)

    def told(self, window: Window, *kinds: type) -> list[Any]:
        return [m for name, m in self.windows.sent if name == window.name and isinstance(m, kinds)]
