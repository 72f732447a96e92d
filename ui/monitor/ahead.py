"""What the desk knows of the rate ahead: which forecast stands, and what it says; no Qt.

A forecast speaks of the settings it was made for. Once they have changed it is shown dimly, and
nothing can be done by it, until the next one comes.
"""

from __future__ import annotations

import numpy as np

from engine.reward.advice import Advice, Change
from engine.reward.forecast import Forecast
from engine.reward.outlook import Candidate
from engine.session.foresight import Foresight
from engine.settings import Settings

OLD_S = 6.0
"""A forecast is made about once a second of training; one as old as this is not of now."""
UNLIKE = 2
"""Another advice is shown once it stood in so many forecasts one after the other: a sentence
that leaps each second is not read, and a key must not do another thing than what was read."""


class Ahead:
    """The newest forecast, and the advice that is shown."""

    def __init__(self) -> None:
        self.foresight: Foresight | None = None
        self.advice: Advice | None = None
        self._advised_for: Settings | None = None
        self._heard_s = 0.0
        self._n_unlike = 0

    def take(self, foresight: Foresight, now_s: float) -> None:
        """Take up a forecast."""
        self.foresight, self._heard_s = foresight, now_s
        new, shown = foresight.outlook.advice, self.advice
        alike = shown is not None and _meaning(new) == _meaning(shown)
        same_settings = foresight.settings == self._advised_for
        self._n_unlike = 0 if alike or not same_settings else self._n_unlike + 1
        if alike or not same_settings or self._n_unlike >= UNLIKE:
            self.advice, self._advised_for, self._n_unlike = new, foresight.settings, 0

    def holds(self, settings: Settings, now_s: float) -> bool:
        """Whether what was foreseen is of these settings, and of now."""
        foresight = self.foresight
        return (
            foresight is not None
            and foresight.settings == settings
            and now_s - self._heard_s <= OLD_S
        )

    def change(self, settings: Settings, now_s: float) -> Change | None:
        """Return the advised change, if it may be made now."""
        advice = self.advice
        if advice is None or self._advised_for != settings or not self.holds(settings, now_s):
            return None
        return advice.change

    @property
    def now(self) -> Forecast | None:
        """The rate ahead if nothing is changed."""
        return self.foresight.outlook.now if self.foresight else None

    @property
    def last_minute(self) -> float | None:
        """The rate of the last clear minute, scored again at the settings."""
        return self.foresight.last_minute if self.foresight else None

    def step(self, key: str, sign: int) -> Candidate | None:
        """Return what one nudge of a setting down (-1) or up (1) leads to."""
        if self.foresight is None:
            return None
        today = self.foresight.settings.value(key)
        for candidate in self.foresight.outlook.one_step:
            if candidate.key == key and (candidate.value - today) * sign > 0:
                return candidate
        return None

    def at(self, key: str, value: float) -> Forecast | None:
        """Return the forecast for a threshold anywhere in its plausible range, None beyond it."""
        if self.foresight is None:
            return None
        sweep = [c for c in self.foresight.outlook.sweeps if c.key == key]
        today, now = self.foresight.settings.value(key), self.now
        if now is not None:
            sweep.append(Candidate(key, today, now))
        sweep.sort(key=lambda c: c.value)
        if not sweep or not sweep[0].value <= value <= sweep[-1].value:
            return None
        values = [c.value for c in sweep]
        numbers = [(c.forecast.rate, c.forecast.low, c.forecast.high) for c in sweep]
        rate, low, high = (
            float(np.interp(value, values, column)) for column in zip(*numbers, strict=True)
        )
        return Forecast(rate, low, high)


def _meaning(advice: Advice) -> tuple[object, ...]:
    """Return what an advice asks for, without its numbers."""
    change = advice.change
    if change is not None:
        return ("change", change.key, change.value)
    return ("none", advice.reason.partition("(")[0])
