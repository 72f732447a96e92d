"""`nudgeline sessions`: what was recorded, of everybody or of one client."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import asdict
from typing import Any

from engine.clinic import load_clinic
from engine.records.rebuilding import catch_up, rebuild
from engine.records.sessions import SessionKept, sessions
from ui.verbs.records import opened_records
from ui.verbs.speech import print_json, say


def run(options: Namespace) -> int:
    """File what is not filed yet, then list; ``--rebuild`` files every recording anew."""
    clinic = load_clinic()
    records = opened_records(clinic)
    done = (rebuild if options.rebuild else catch_up)(records, clinic.recordings)
    for trouble in done.troubles:
        say(trouble)
    found = sessions(records, options.client or "")
    if options.json:
        print_json({"records": str(records.path), "sessions": [values(kept) for kept in found]})
    elif not found:
        say(f"No session is recorded in {clinic.recordings} yet.")
    for kept in () if options.json else found:
        print(line(kept))
    return 0


def values(kept: SessionKept) -> dict[str, Any]:
    """Return a session as plain values; amplitudes and thresholds on the protocol's scale."""
    bands = [asdict(band.on(kept.scale)) for band in kept.bands]
    return asdict(kept) | {"bands": bands, "points_per_minute": kept.rate}


def line(kept: SessionKept) -> str:
    """Return a session in one line."""
    who = kept.client + (f" {kept.number}" if kept.number else "")
    words = [
        kept.id,
        who or "nobody named",
        f"{kept.protocol_name} at {kept.site}",
        f"{kept.seconds / 60:.0f} min",
        f"{kept.points} points",
        "-" if kept.rate is None else f"{kept.rate:.1f} a minute",
        "-" if kept.clear_share is None else f"{kept.clear_share:.0%} clear",
    ]
    return "  ".join(words if kept.ended else [*words, "cut off"])
