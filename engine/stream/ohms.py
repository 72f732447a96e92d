"""Which channel of a stream is the impedance of which sensor, and in which unit. Pure.

Amplifiers send impedances in a stream of their own, or as further channels of the EEG, in ohms
or kilo-ohms, under the site's label with or without a word beside it (``C4``, ``Z C4``,
``C4 impedance``, ``Imp_C4 [kOhm]``, ``GND``). A unit is never guessed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from engine.channels import read_label
from engine.stream.metadata import Description

OHM_WORDS = ("ohm", "kohm")
"""How a clinic's settings name the unit of a stream that does not say."""

_KOHM_PER = {
    "ohm": 1e-3,
    "ohms": 1e-3,
    "ω": 1e-3,
    "kohm": 1.0,
    "kohms": 1.0,
    "kω": 1.0,
    "kiloohm": 1.0,
    "kiloohms": 1.0,
    "kilo-ohm": 1.0,
    "kilo-ohms": 1.0,
    "mohm": 1e3,
    "mohms": 1e3,
    "mω": 1e3,
    "megaohm": 1e3,
    "megaohms": 1e3,
    "megohm": 1e3,
    "megohms": 1e3,
}
"""In lower case; a sensor's impedance is never a thousandth of an ohm, so m is mega."""

_UNIT_AT_END = re.compile(r"[\[(]\s*([^\])]+?)\s*[\])]\s*$")
_WORDS = re.compile(r"^(?:impedance|imp|z)[\s:_.-]+|[\s:_.-]+(?:impedance|imp|z)$", re.IGNORECASE)
_ROLES = {
    "ref": "reference",
    "reference": "reference",
    "gnd": "ground",
    "ground": "ground",
    "grd": "ground",
}


def kohm_per(unit: str) -> float | None:
    """Return the factor from a unit to kilo-ohms, None where it is none of resistance."""
    return _KOHM_PER.get(unit.strip().lower().replace(" ", ""))


def sensor_of(label: str) -> str:
    """Return the site that an impedance's label names, in lower case, or ``reference``/``ground``.

    >>> sensor_of("Imp_C4 [kOhm]")
    'c4'
    """
    plain = _UNIT_AT_END.sub("", label).strip()
    plain = _WORDS.sub("", plain)
    site = read_label(plain).site
    return _ROLES.get(site, site)


def unit_in(label: str) -> str:
    """Return the unit that a label itself carries between brackets, or ``""``."""
    match = _UNIT_AT_END.search(label)
    return match.group(1) if match else ""


@dataclass(frozen=True)
class OhmChannels:
    """Where in a sample the impedances are.

    Attributes
    ----------
    places : for each sensor, (channel, factor to kΩ). unknown : labels without a known unit.
    """

    places: Mapping[str, tuple[int, float]] = field(default_factory=dict)
    unknown: tuple[str, ...] = ()

    def read(self, sample: Sequence[float]) -> dict[str, float | None]:
        """Return kΩ by sensor; None where the amplifier has sent no number, or a negative one."""
        kohm: dict[str, float | None] = {}
        for sensor, (channel, factor) in self.places.items():
            value = float(sample[channel]) * factor
            kohm[sensor] = None if math.isnan(value) or value < 0 else value
        return kohm


def ohm_channels(labels: Sequence[str], units: Sequence[str], unit: str = "") -> OhmChannels:
    """Find the impedances in a stream of their own; ``unit`` is for those that state none."""
    places: dict[str, tuple[int, float]] = {}
    unknown = []
    for channel, (label, stated) in enumerate(zip(labels, units, strict=True)):
        factor = kohm_per(stated or unit_in(label) or unit)
        if factor is None:
            unknown.append(label or f"channel {channel + 1}")
        elif label:
            places.setdefault(sensor_of(label), (channel, factor))
    return OhmChannels(places, tuple(unknown))


def ohm_channels_beside_eeg(labels: Sequence[str], units: Sequence[str]) -> OhmChannels:
    """Find the impedances among the channels of an EEG stream: those in a unit of resistance."""
    places: dict[str, tuple[int, float]] = {}
    for channel, (label, stated) in enumerate(zip(labels, units, strict=True)):
        factor = kohm_per(stated)
        if factor is not None and label:
            places.setdefault(sensor_of(label), (channel, factor))
    return OhmChannels(places)


def of_stream(stream: Description, unit: str = "") -> OhmChannels:
    """Find the impedances in a stream of their own, as it describes itself."""
    return ohm_channels(stream.labels, stream.units, unit)


def by_site(
    kohm: Mapping[str, float | None],
    sites: Sequence[str],
    reference: str = "",
    ground: str = "",
) -> dict[str, float | None]:
    """Return kΩ for the sites asked for, in their order; None where nothing was sent.

    A site that is the protocol's reference or ground also answers to that name.
    """
    found: dict[str, float | None] = {}
    for site in sites:
        names = [read_label(site).site]
        names += [
            role for role, its in (("reference", reference), ("ground", ground)) if its == site
        ]
        found[site] = next((kohm[name] for name in names if kohm.get(name) is not None), None)
    return found
