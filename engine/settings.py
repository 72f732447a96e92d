"""The settings that a nudge may change, and the one name each has everywhere.

``theta.threshold``, ``smr.averaging``, ``hold``, ``quiet``: the same keys on the command line
(``--set``), in a forecast, in the log and on the desk.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from engine.errors import bad_value

THRESHOLD_UV = (0.05, 1000.0)
AVERAGING_S = (0.0, 1.0)
HOLD_S = (0.02, 10.0)
QUIET_S = (0.0, 30.0)


def is_threshold(key: str) -> bool:
    """Return whether a setting is an amplitude: it depends on the scale, and is nudged at once."""
    return key.endswith(".threshold")


@dataclass(frozen=True)
class Settings:
    """Everything that can be nudged while a round runs.

    Thresholds in the protocol's scale (microvolts), times in seconds; one threshold and one
    averaging a condition, in the order of ``bands``.
    """

    bands: tuple[str, ...]
    thresholds_uv: tuple[float, ...]
    averaging_s: tuple[float, ...]
    hold_s: float
    quiet_s: float

    @property
    def keys(self) -> tuple[str, ...]:
        """Every key, thresholds first, in the order in which the desk lists them."""
        return (
            *(f"{band}.threshold" for band in self.bands),
            "hold",
            "quiet",
            *(f"{band}.averaging" for band in self.bands),
        )

    def value(self, key: str) -> float:
        """Return the value under ``key``; raises ConfigError on an unknown key."""
        if key == "hold":
            return self.hold_s
        if key == "quiet":
            return self.quiet_s
        kind, index = self._place(key)
        return (self.thresholds_uv if kind == "threshold" else self.averaging_s)[index]

    def changed(self, key: str, value: float) -> Settings:
        """Return new settings with ``key`` at ``value``; ConfigError if out of range."""
        low, high, unit = self.limits(key)
        if not math.isfinite(value) or not low <= value <= high:
            raise bad_value(key, value, f"{low:g} to {high:g} {unit}", "choose a value in between")
        if key == "hold":
            return replace(self, hold_s=value)
        if key == "quiet":
            return replace(self, quiet_s=value)
        kind, index = self._place(key)
        values = list(self.thresholds_uv if kind == "threshold" else self.averaging_s)
        values[index] = value
        if kind == "threshold":
            return replace(self, thresholds_uv=tuple(values))
        return replace(self, averaging_s=tuple(values))

    def limits(self, key: str) -> tuple[float, float, str]:
        """Return (lowest, highest, unit) that ``key`` accepts."""
        if key == "hold":
            return (*HOLD_S, "s")
        if key == "quiet":
            return (*QUIET_S, "s")
        kind, _ = self._place(key)
        return (*THRESHOLD_UV, "µV") if kind == "threshold" else (*AVERAGING_S, "s")

    def _place(self, key: str) -> tuple[str, int]:
        band, _, kind = key.partition(".")
        if band not in self.bands or kind not in ("threshold", "averaging"):
            raise bad_value("setting", key, "one of " + ", ".join(self.keys), "correct the name")
        return kind, self.bands.index(band)
