"""Which sensors a protocol needs, and a written impedance read; no Qt."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from engine.practice.hookup import hookup_marks, sites_meant
from engine.protocol import Protocol
from engine.stream.ohms import by_site

SHOWN_KOHM = 999.0
"""What is above stands as this number: no skin is measured there."""


@dataclass(frozen=True)
class Sensors:
    """Names of sensors by what they are; reference and ground go by that word where no site is."""

    sites: tuple[str, ...]
    reference: tuple[str, ...]
    ground: tuple[str, ...]

    @property
    def all(self) -> tuple[str, ...]:
        """Every sensor once, in the order of the hands."""
        return tuple(dict.fromkeys((*self.sites, *self.reference, *self.ground)))

    @property
    def common(self) -> tuple[str, ...]:
        """What every signal shares."""
        return (*self.reference, *self.ground)

    def role(self, sensor: str) -> str:
        """Say what a sensor is for."""
        roles = (("site", self.sites), ("reference", self.reference), ("ground", self.ground))
        return next(role for role, names in roles if sensor in names)

    def heard(self, kohm: Mapping[str, float | None]) -> dict[str, float | None]:
        """Return what an amplifier sent, by these sensors."""
        single = self.reference[0] if len(self.reference) == 1 else ""
        return by_site(kohm, self.all, single, self.ground[0])


def sensors_of(protocol: Protocol) -> Sensors:
    """Return the sensors of a protocol: its site, those its bands are measured at, the others."""
    marks = hookup_marks(protocol.site, protocol.reference, protocol.ground)
    own = (site for condition in protocol.conditions for site in sites_meant(condition.channel))
    sites = tuple(dict.fromkeys((*marks["site"], *own))) or (protocol.site,)
    return Sensors(sites, marks["reference"] or ("reference",), marks["ground"] or ("ground",))


def read_kohm(text: str) -> float | None:
    """Return the kilo-ohms that were written, with a point or a comma; None where it is none."""
    plain = text.strip().lower().removesuffix("kω").removesuffix("k").strip()
    try:
        value = float(plain.replace(",", "."))
    except ValueError:
        return None
    return value if math.isfinite(value) and value >= 0 else None


def kohm_words(kohm: float) -> str:
    """Write kilo-ohms into a line."""
    return f"{kohm:.1f}" if kohm < 100 else f"{min(kohm, SHOWN_KOHM):.0f}"
