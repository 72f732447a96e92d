"""Keeping a desk supplied with forecasts: what they are made from, how often, and the answer."""

from __future__ import annotations

from collections.abc import Iterable

from engine.errors import ConfigError
from engine.events import Reason, Tick
from engine.session.foresight import Foreseer, Foresight, ForesightRequest
from engine.session.live import LiveSession
from engine.settings import Settings

ASK_S = 0.8
MUSCLE_SHARE = 0.05
"""Muscle is raised when it hid this share of the last minute."""


class Lookout:
    """Asks a `Foreseer` anew about once a second, and at once after a change of a setting."""

    def __init__(self, live: LiveSession, foreseer: Foreseer):
        self._live = live
        self._foreseer = foreseer
        self._asked_at = float("-inf")
        self._asked_for: Settings | None = None
        conditions = live.protocol.conditions
        rewards = [c.band for c in conditions if c.direction == "above"]
        inhibits = [c.band for c in conditions if c.direction == "below"]
        pair = (rewards + inhibits)[:1] + (inhibits + rewards[1:])[:1]
        self._mapped = (pair[0], pair[1]) if len(set(pair)) == 2 else None

    def map(self, across: str, up: str) -> None:
        """Map these two bands; ConfigError where they are not two of the protocol's."""
        bands = self._live.pipeline.settings.bands
        if across == up or across not in bands or up not in bands:
            raise ConfigError(
                f"The map's bands are {across!r} and {up!r}, but two of {', '.join(bands)} are "
                "accepted; choose two."
            )
        self._mapped = (across, up)
        self._asked_at = float("-inf")

    def look(self, now_s: float, last_minute: Iterable[Tick]) -> Foresight | None:
        """Ask when it is time, and return a forecast that has come."""
        live = self._live
        settings = live.pipeline.settings
        if now_s - self._asked_at >= ASK_S or settings != self._asked_for:
            self._asked_at, self._asked_for = now_s, settings
            protocol = live.protocol
            ticks = [Reason.MUSCLE in tick.reasons for tick in last_minute]
            self._foreseer.ask(
                ForesightRequest(
                    window=live.recent.window(),
                    grid=live.pipeline.plan.grid,
                    settings=settings,
                    steps={key: protocol.step(key) for key in settings.keys},
                    zone=protocol.zone,
                    above=protocol.above,
                    muscle_raised=sum(ticks) > MUSCLE_SHARE * max(1, len(ticks)),
                    mapped=self._mapped,
                )
            )
        return self._foreseer.take()
