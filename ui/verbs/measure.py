"""`nudgeline measure`: three lengths of a head to the distances of the 21 sites."""

from __future__ import annotations

from argparse import Namespace
from typing import Any

from engine.errors import ConfigError, bad_value
from engine.practice.distances import Distance, distances, helper_marks, how, second_way
from engine.practice.doubts import asymmetries, doubts
from engine.practice.head import Halves, Head, measured
from engine.practice.lengths import CM_IN, bare, in_unit, read_length
from engine.practice.sites import AROUND, CORONAL, EAR, MIDLINE, MIDWAY
from ui.verbs.speech import print_json, say

HEADINGS = {
    MIDLINE: "Nasion to inion, over the top, from the nasion",
    CORONAL: "Ear to ear through Cz, from Cz",
    AROUND: "Around the head through Fpz and Oz, from Fpz",
    MIDWAY: "Half-way between sites that are marked",
    EAR: "Ears",
}


def run(options: Namespace) -> int:
    """Print every site; questions about the lengths go to standard error."""
    head = _head(options)
    for question in doubts(head):
        say(question)
    if options.json:
        print_json(values(head))
    else:
        for line in lines(head):
            print(line)
    return 0


def _head(options: Namespace) -> Head:
    if options.unit not in CM_IN:
        raise bad_value("--unit", options.unit, "cm or in", "say with --unit what the tape shows")
    return measured(
        options.unit,
        options.nasion_inion,
        options.preauricular,
        options.circumference,
        preauricular_halves=_pair("--preauricular-halves", options.preauricular_halves),
        circumference_halves=_pair("--circumference-halves", options.circumference_halves),
        spans=_named("--span", options.span, "F7-Fz=12.4"),
        apart=_named("--apart", options.apart, "F3=0.5"),
    )


def _pair(option: str, given: list[float] | None) -> Halves | None:
    return None if given is None else (given[0], given[1])


def _named(option: str, texts: list[str] | None, example: str) -> dict[str, float]:
    found = {}
    for text in texts or []:
        name, _, written = text.partition("=")
        length = 0.0 if written.strip() == "0" else read_length(written)
        if length is None:
            raise bad_value(option, text, f"a name and a length such as {example}", "correct it")
        if name.strip() in found:
            raise ConfigError(f"{option} {name.strip()} is given twice; leave one of them out.")
        found[name.strip()] = length
    return found


def values(head: Head) -> dict[str, Any]:
    """Return every site as plain values, distances in the head's unit, as ``--json`` prints it."""
    return {
        "unit": head.unit,
        "sites": [_site(found, head.unit) for found in distances(head)],
        "marks": [_site(found, head.unit) for found in helper_marks(head)],
        "questions": list(doubts(head)),
        "asymmetry": list(asymmetries(head)),
    }


def _site(found: Distance, unit: str) -> dict[str, Any]:
    def length(cm: float | None) -> float | None:
        return None if cm is None else in_unit(cm, unit)

    second = None
    if found.second_start is not None:
        second = {"from": found.second_start, "distance": length(found.second_cm)}
    return {
        "site": found.site.name,
        "also": found.site.also,
        "line": found.site.line,
        "from": found.site.start,
        "side": found.site.side,
        "distance": length(found.cm),
        "second": second,
        "apart": length(found.apart_cm),
        "text": how(found, unit),
    }


def lines(head: Head) -> list[str]:
    """Return the table in the order in which hands do it."""
    unit = head.unit
    said = [
        f"Nasion to inion {bare(head.nasion_inion_cm, unit)}, ear to ear "
        f"{bare(head.preauricular_cm, unit)}, around {bare(head.circumference_cm, unit)} {unit}."
    ]
    said += asymmetries(head)
    helpers = {found.site.name: found for found in helper_marks(head)}
    heading = ""
    for found in distances(head):
        if found.site.line != heading:
            heading = found.site.line
            said += ["", HEADINGS[heading]]
            said += [_row(helpers["Fpz"], unit)] if heading == MIDLINE else []
        said.append(_row(found, unit))
        said += [_row(helpers["Oz"], unit)] if found.site.name == "Pz" else []
    return said


def _row(found: Distance, unit: str) -> str:
    site = found.site
    name = f"{site.name} ({site.also})" if site.also else site.name
    far = "" if found.cm is None else bare(found.cm, unit)
    second = second_way(found, unit)
    return f"  {name:<9}{far:>6}  {how(found, unit)}{'; ' + second if second else ''}"
