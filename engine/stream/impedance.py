"""Impedances that an amplifier sends in an LSL stream of their own: the newest, by sensor."""

from __future__ import annotations

from dataclasses import dataclass

from engine.errors import NudgelineError
from engine.stream.discover import Wanted
from engine.stream.metadata import NUMERIC, Description
from engine.stream.newest import NewestInlet, Reading
from engine.stream.ohms import of_stream

IMPEDANCE_TYPE = "Impedance"
FRESH_S = 10.0
"""Amplifiers measure one sensor after the other and may take seconds for a round."""

AGAIN_S = 2.0


@dataclass(frozen=True)
class Impedances:
    """kΩ by sensor (`engine.stream.ohms.sensor_of`), None where none was measured.

    ``remark`` names channels that cannot be read; empty where all can.
    """

    kohm: dict[str, float | None]
    stream: str
    remark: str = ""


class ImpedanceInlet(NewestInlet[Impedances]):
    """Finds the stream of impedances in reach, and finds it again after a loss.

    ``name`` chooses one; empty: any of type Impedance. ``unit``, ``ohm`` or ``kohm``, is for a
    stream that states none.
    """

    def __init__(self, name: str = "", unit: str = ""):
        super().__init__(
            Wanted(name=name, kind=IMPEDANCE_TYPE),
            lambda stream: _reading(stream, unit),
            fresh_s=FRESH_S,
            looking="looking for a stream of impedances",
            absent="No stream of impedances is in reach; type them in, or switch impedance on in "
            "the amplifier's program.",
            gone="The stream of impedances has ended; it is looked for again.",
            name="impedances",
            again_s=AGAIN_S,
        )


def _reading(stream: Description, unit: str) -> Reading[Impedances]:
    """Return what reads a sample of a stream; NudgelineError where it holds no impedance."""
    channels = of_stream(stream, unit)
    if stream.channel_format not in NUMERIC or not channels.places:
        held = ", ".join(label or "(no label)" for label in stream.labels) or "no channel"
        stated = ", ".join(sorted(set(stream.units) - {""})) or "no unit"
        raise NudgelineError(
            f"{stream.title} holds {held} in {stated}, but labels of sites and a unit of ohm or "
            "kohm are needed; name the unit under contact.impedance_unit, or type the values in."
        )
    remark = ""
    if channels.unknown:
        remark = f"No unit of resistance is stated for {', '.join(channels.unknown)}."
    return lambda sample: Impedances(channels.read(sample), stream.name, remark)
