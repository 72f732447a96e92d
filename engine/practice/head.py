"""A measured head: the three lengths, and whatever else the tape was laid to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from engine.errors import bad_value
from engine.practice.lengths import CM_IN, to_cm
from engine.practice.sites import MIDWAYS, SPANS, find_span

Halves = tuple[float, float]
"""Left and right, centimetres."""


@dataclass(frozen=True)
class Head:
    """Lengths in centimetres; ``unit``, cm or in, is what the tape was read in.

    ``preauricular_halves_cm`` run from each ear to the mark of Cz, ``circumference_halves_cm``
    from Fpz to Oz on each side. ``spans_cm`` are pairs of a span and its length; ``apart_cm`` are
    pairs of a site and how far apart its two marks lie. ``measured_on`` is a day (ISO 8601) or "".
    """

    nasion_inion_cm: float
    preauricular_cm: float
    circumference_cm: float
    unit: str = "cm"
    preauricular_halves_cm: Halves | None = None
    circumference_halves_cm: Halves | None = None
    spans_cm: tuple[tuple[str, float], ...] = ()
    apart_cm: tuple[tuple[str, float], ...] = ()
    measured_on: str = ""

    def span(self, name: str) -> float | None:
        """Return the length of a span, or None while it is not measured."""
        return dict(self.spans_cm).get(name)

    def apart(self, site: str) -> float | None:
        """Return how far apart the two marks of a site lie, or None while that is not measured."""
        return dict(self.apart_cm).get(site)

    def values(self) -> dict[str, Any]:
        """Return the head as plain values, fit for JSON; `head_from` reads them back."""
        values = asdict(self)
        values["spans_cm"], values["apart_cm"] = dict(self.spans_cm), dict(self.apart_cm)
        for key in ("preauricular_halves_cm", "circumference_halves_cm"):
            values[key] = None if values[key] is None else list(values[key])
        return values


def head_from(values: Mapping[str, Any]) -> Head:
    """Return the head that `Head.values` wrote; ConfigError where the values make none."""
    try:
        halves = {
            key: None if (pair := values.get(key)) is None else (float(pair[0]), float(pair[1]))
            for key in ("preauricular_halves_cm", "circumference_halves_cm")
        }
        head = measured(
            "cm",
            float(values["nasion_inion_cm"]),
            float(values["preauricular_cm"]),
            float(values["circumference_cm"]),
            preauricular_halves=halves["preauricular_halves_cm"],
            circumference_halves=halves["circumference_halves_cm"],
            spans={str(k): float(v) for k, v in values.get("spans_cm", {}).items()},
            apart={str(k): float(v) for k, v in values.get("apart_cm", {}).items()},
        )
        unit, day = str(values.get("unit", "cm")), str(values.get("measured_on", ""))
    except (KeyError, TypeError, ValueError, IndexError, AttributeError):
        raise bad_value("head", values, "a head as it was kept", "measure it anew") from None
    if unit not in CM_IN:
        raise bad_value("unit of the head", unit, "cm or in", "measure it anew")
    return replace(head, unit=unit, measured_on=day)


def measured(
    unit: str,
    nasion_inion: float,
    preauricular: float,
    circumference: float,
    *,
    preauricular_halves: Halves | None = None,
    circumference_halves: Halves | None = None,
    spans: Mapping[str, float] | None = None,
    apart: Mapping[str, float] | None = None,
    measured_on: str = "",
) -> Head:
    """Return the head whose lengths are given in ``unit``; ConfigError names what is wrong.

    A span may be named from either end and by older or newer names: ``F7-Fz``, ``Pz-P7``.
    """

    def pair(name: str, halves: Halves | None) -> Halves | None:
        if halves is None:
            return None
        left, right = halves
        return to_cm(f"{name}, left", left, unit), to_cm(f"{name}, right", right, unit)

    found = {}
    for text, length in (spans or {}).items():
        name = find_span(text)
        if name is None:
            raise bad_value("span", text, f"one of {', '.join(SPANS)}", "name both of its ends")
        found[name] = to_cm(f"span {text}", length, unit)
    gaps = {}
    for site, length in (apart or {}).items():
        if site not in MIDWAYS:
            raise bad_value("apart", site, f"one of {', '.join(MIDWAYS)}", "name the site")
        gaps[site] = 0.0 if length == 0 else to_cm(f"apart {site}", length, unit)
    return Head(
        to_cm("nasion-inion", nasion_inion, unit),
        to_cm("preauricular", preauricular, unit),
        to_cm("circumference", circumference, unit),
        unit,
        pair("preauricular", preauricular_halves),
        pair("circumference", circumference_halves),
        tuple((name, found[name]) for name in SPANS if name in found),
        tuple((name, gaps[name]) for name in MIDWAYS if name in gaps),
        measured_on,
    )
