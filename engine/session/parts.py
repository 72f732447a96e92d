"""The parts of a visit: a recording of its own for every protocol and site that is trained.

All parts are of one stream. A part is open from its first sample until another one begins or the
session is closed; each recording begins at second 0, wherever in the stream that was.
"""

from __future__ import annotations

import gc
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from engine.chunk import StreamInfo
from engine.clinic import Clinic, make_recordings_folder
from engine.errors import ConfigError, RecordError
from engine.events import PointEarned
from engine.pipeline import Pipeline
from engine.protocol import Protocol, Rounds
from engine.session.asks import AskBegin
from engine.session.audience import Audience
from engine.session.description import filters_of, plan_values, program_version
from engine.session.going_on import protocol_at_the_end
from engine.session.impedances import ImpedanceView, ImpedanceWatch, Reader
from engine.session.live import LiveSession
from engine.session.messages import ClientControl
from engine.session.recording import Recording
from engine.session.shelf import close_cut_off
from engine.stream.ohms import ohm_channels_beside_eeg

Choose = Callable[[str, str], Protocol]
"""Find the protocol of a name, and put it on a site unless that is empty."""


class Parts:
    """Opens the session of a part, and closes the one before it.

    ``protocol`` is what the next part trains, None until somebody has chosen it; ``live`` the
    part that runs, on the stream ``info``; ``began_s`` where in the stream it began. Of the parts
    that are over, ``points``, ``paths`` and ``seconds`` are of all, ``summary`` of the last.
    """

    def __init__(
        self,
        audience: Audience,
        clinic: Clinic,
        protocol: Protocol | None,
        choose: Choose,
        *,
        rounds: Rounds | None = None,
        title: str = "Nudgeline",
        by: str = "operator",
        passphrase: str = "",
        demo: bool = False,
        impedances: Callable[[], Reader] | None = None,
    ):
        self.protocol = protocol
        self.visit: dict[str, Any] = {}
        self.live: LiveSession | None = None
        self.info: StreamInfo | None = None
        self.began_s = 0.0
        self.points: list[PointEarned] = []
        self.paths: list[Path] = []
        self.seconds = 0.0
        self.summary: dict[str, Any] = {}
        self.passphrase = passphrase
        self._audience, self._clinic, self._choose = audience, clinic, choose
        self._rounds, self._title, self._by = rounds, title, by
        self._demo = demo
        self._go_on_from = ""
        self._carried: dict[str, dict[str, Any]] = {}
        self._waiting: list[tuple[str, dict[str, Any]]] = []
        self._watched = False
        self._impedances = ImpedanceWatch(impedances)
        audience.impedances = lambda: self.impedances

    def watch_contact(self, watched: bool) -> None:
        """Judge the sensors' contact in every part from here on, or no more."""
        self._watched = watched
        self._impedances.watch(watched)
        if self.live is not None:
            self.live.preparation.watch_contact(watched)

    @property
    def impedances(self) -> ImpedanceView | None:
        """What the amplifier sends, beside the EEG or in a stream of its own."""
        if not self._watched:
            return None
        if self.live is not None and self.info is not None and self.live.preparation.kohm:
            return ImpedanceView(self.live.preparation.kohm, self.info.name)
        return self._impedances.view

    def let_go(self) -> None:
        """Leave nothing behind that still reads."""
        self._impedances.close()

    def entry(self, topic: str, values: dict[str, Any]) -> None:
        """Write something down in the part that runs, or, before the first, as soon as it does.

        The head is written into every part: it is the same client's.
        """
        if topic == "head":
            self._carried[topic] = values
        if self.live is not None:
            self.live.entry(topic, values)
        elif topic not in self._carried:
            self._waiting.append((topic, values))

    def begin(self, ask: AskBegin, now_s: float) -> None:
        """Take what is to be trained, and with whom; where a stream runs already, go on with it.

        ConfigError where there is no such protocol, where the stream cannot be trained so, or
        where another client's session is still open; nothing changes then.
        """
        client = str(ask.visit.get("client", ""))
        other = str(self.visit.get("client", ""))
        if self.live is not None and other and client != other:
            raise ConfigError(
                f"client is {client!r}, but the session of {other} is open; close that first, "
                "with the next client."
            )
        if ask.go_on_from:
            cut = Path(ask.go_on_from)
            passphrase = ask.passphrase or self.passphrase
            protocol = protocol_at_the_end(cut, passphrase)
            close_cut_off(cut, passphrase)
        else:
            protocol = self._choose(ask.protocol, ask.site)
        if self.live is None or self.info is None:
            self._take(ask, protocol)
        elif protocol == self.live.protocol:
            self._take(ask, protocol)
            self.live.describe(self._by)
            self.live.entry("visit", self.visit)
            self._audience.retitle(self._title)
        else:
            self._change(self.live, self.info, ask, protocol, now_s)

    def _take(self, ask: AskBegin, protocol: Protocol) -> None:
        if self.protocol is None:  # within a visit the operator's choice stays
            self._audience.change_client(shown_with(protocol, self._audience.control))
        self.protocol = protocol
        self.visit = dict(ask.visit) or self.visit
        self._by = str(self.visit.get("operator") or self._by)
        self._title = str(self.visit.get("client") or self._title)
        self.passphrase = ask.passphrase or self.passphrase
        self._go_on_from = ask.go_on_from
        rest = (c for c in self._audience.reception.cut_off if str(c.path) != ask.go_on_from)
        self._audience.receive(
            visit=self.visit, waiting=False, passphrase=self.passphrase, cut_off=tuple(rest)
        )

    def open(self, info: StreamInfo) -> LiveSession:
        """Begin a part on a stream; NudgelineError where the protocol does not fit it."""
        protocol = self.protocol
        assert protocol is not None
        pipeline = Pipeline(protocol, info.ch_names, info.sfreq)
        folder = make_recordings_folder(self._clinic)
        now = datetime.now(UTC)
        stem = f"{now:%Y%m%d-%H%M%S}-{protocol.slug}"
        recording = Recording(folder, stem, passphrase=self.passphrase)
        plan = pipeline.plan
        recording.begin(protocol, info, program_version(), plan_values(plan, pipeline.settings))
        for name, taps in filters_of(plan).items():
            recording.taps(name, taps)
        if self._go_on_from:
            recording.meta("goes on from", self._go_on_from)
            self._go_on_from = ""
        live = LiveSession(
            protocol,
            pipeline,
            recording,
            self._audience.hear,
            rounds=self._rounds,
            by=self._by,
            began_utc=now,
            contact=self._clinic.contact,
            beside=ohm_channels_beside_eeg(info.ch_names, info.units),
        )
        live.preparation.watch_contact(self._watched)
        self.live, self.info = live, info
        self._audience.opened(live, info, self._title, self._demo)
        if self.visit:
            live.entry("visit", self.visit)
        for topic, values in [*self._carried.items(), *self._waiting]:
            live.entry(topic, values)
        self._waiting = []
        gc.collect()
        gc.freeze()  # what stands now stands to the end, and is not looked through again
        return live

    def close(self, now_s: float, why: str) -> None:
        """End the part that runs and close its recording.

        RecordError when some of it could not be written; the part is over all the same.
        """
        live, self.live = self.live, None
        if live is None:
            return
        live.end("session closed")
        self._audience.tell_status()
        self.points += live.points
        self.seconds += live.pipeline.sample / live.pipeline.plan.sfreq
        self.summary = live.summary()
        live.recording.anchor(now_s)
        live.recording.meta("ended", why)
        try:
            live.recording.close()
        finally:
            if live.recording.path is not None:
                self.paths.append(live.recording.path)

    def _change(
        self, live: LiveSession, info: StreamInfo, ask: AskBegin, protocol: Protocol, now_s: float
    ) -> None:
        """Go on with another protocol or site in a recording of its own."""
        Pipeline(protocol, info.ch_names, info.sfreq)  # whether it fits is known before the change
        self._take(ask, protocol)
        try:
            self.close(now_s, f"went on with {protocol.name}")
        except RecordError as error:
            self._audience.remark(str(error), grave=True)
        self.began_s += live.pipeline.time_s
        begun = self.open(info)
        begun.segment(0.0, "another part of the visit")
        for cause, why in live.holds_off.items():
            begun.hold_off(cause, why)


def shown_with(protocol: Protocol, control: ClientControl) -> ClientControl:
    """Return what the client's window shows with a protocol; screen and silence stay."""
    scene = protocol.client
    return replace(
        control,
        scene=scene.scene,
        closeness=scene.closeness,
        tone=scene.tone,
        volume=scene.volume,
    )
