"""What is measured beside the training: the contact, the checks with the client, the baselines."""

from __future__ import annotations

from engine.chunk import Chunk
from engine.clinic import ContactLimits
from engine.errors import bad_value
from engine.events import StretchStart, StretchStop, Tick
from engine.pipeline import Pipeline
from engine.practice.check import CHECKS, CheckKeeper, CheckProposal
from engine.practice.signal_contact import SignalContact, SignalView
from engine.protocol import Protocol
from engine.reward.baseline import Start, starting_thresholds
from engine.reward.forecast import LEAST_CLEAR_S, Forecaster
from engine.session.stretches import Stretches
from engine.stream.ohms import OhmChannels


class Preparation:
    """Hears every tick and chunk of a session; ``stretches`` and ``proposal`` are what came of it.

    While ``contact_watched``, ``contact`` holds what the signal says of the sensors' contact, and
    ``kohm`` the impedances that come beside the EEG in channels of their own, ``beside``.
    """

    def __init__(
        self,
        protocol: Protocol,
        pipeline: Pipeline,
        limits: ContactLimits | None = None,
        beside: OhmChannels | None = None,
    ):
        plan = pipeline.plan
        self._protocol, self._pipeline = protocol, pipeline
        self.stretches = Stretches(plan.tick_s, len(protocol.conditions))
        self.check = CheckKeeper(plan.signals, plan.n_trained, plan.tick_s, pipeline.limits)
        self.proposal: CheckProposal | None = None
        self.contact_watched = False
        self.contact: SignalView | None = None
        self.limits = limits or ContactLimits()
        self.beside = beside or OhmChannels()
        self.kohm: dict[str, float | None] = {}
        self._signal = SignalContact(plan.signals, plan.sfreq, limits, plan.montage.T.copy())
        self._measured = pipeline.measures.cursor

    def watch_contact(self, watched: bool) -> None:
        """Judge the contact by the signal from here on, or no more."""
        if watched and not self.contact_watched:
            self.restart()
        self.contact_watched = watched

    def restart(self) -> None:
        """Forget the signal before a gap."""
        self._signal.restart()
        self.contact = None
        self.kohm = {}

    def feed(self, chunk: Chunk) -> None:
        """Take samples as they came."""
        if self.contact_watched:
            self.contact = self._signal.feed(chunk.samples_uv) or self.contact
            if self.beside.places:
                self.kohm = self.beside.read(chunk.raw[-1].tolist())

    def hear(self, ticks: list[Tick]) -> list[StretchStop]:
        """Take the ticks of a chunk that was fed; return the stretches that ended with them."""
        since = self._pipeline.measures.since(self._measured)
        self._measured = since.cursor
        stops = []
        for tick, measures in zip(ticks[since.lost :], since.samples, strict=True):
            self.check.add(self.stretches.running, measures[None])
            stop = self.stretches.add(tick)
            if stop is not None:
                stops.append(self._stopped(stop))
        return stops

    def begin(self, what: str, seconds: float) -> tuple[StretchStart | StretchStop, ...]:
        """Begin a stretch; one that runs is broken off. ConfigError as in `Stretches.start`."""
        pipeline = self._pipeline
        events = self.stretches.start(what, seconds, pipeline.sample, pipeline.time_s)
        self.check.begin(what)
        return events

    def stop(self) -> StretchStop | None:
        """Break off the stretch that runs."""
        stop = self.stretches.stop("operator", self._pipeline.sample, self._pipeline.time_s)
        return None if stop is None else self._stopped(stop)

    def set_limits(self) -> None:
        """Take over the limits of clearness that were set."""
        self.check.limits = self._pipeline.limits
        if self.proposal is not None:
            self.proposal = self.check.proposal()

    def _stopped(self, stop: StretchStop) -> StretchStop:
        if stop.what in CHECKS:
            self.proposal = self.check.proposal()
        return stop

    def starting(self, target_rate: float | None, shares: dict[str, float]) -> Start:
        """Return thresholds to start with, found in the baseline before the training.

        ConfigError while there is too little of it that is clear.
        """
        window = self.stretches.window("baseline before")
        clear_s = window.clear_s if window is not None else 0.0
        if window is None or clear_s < LEAST_CLEAR_S:
            raise bad_value(
                "clear time of the baseline",
                f"{clear_s:.0f} s",
                f"at least {LEAST_CLEAR_S:g} s",
                "take a baseline first",
            )
        above = self._protocol.above
        forecaster = Forecaster(window, self._pipeline.plan.grid, above)
        return starting_thresholds(forecaster, self._pipeline.settings, above, target_rate, shares)
