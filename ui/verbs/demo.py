"""`nudgeline demo`: a simulated client at a simulated amplifier, the whole loop over LSL."""

from __future__ import annotations

import os
from argparse import Namespace
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import replace

from engine.clinic import load_clinic
from engine.stream import network
from engine.stream.discover import Wanted
from engine.stream.reader import LslSource
from ui.verbs.choices import chosen_protocol
from ui.verbs.live import latency_ms, report, run_sittings, sitting_for
from ui.verbs.speech import say

PROTOCOL = "smr-up-c4"
CLIENT = "HERON-07"


def run(options: Namespace, simulated: Callable[[str], AbstractContextManager[None]]) -> int:
    """Run a session on the stream that ``simulated`` opens, given LSL's configuration.

    The network is private to the demo whatever the site's settings say, and nothing is published.
    Recordings of the demo stay out of the clients' folder.
    """
    clinic = load_clinic()
    clinic = replace(
        clinic,
        network=replace(clinic.network, scope="machine", publish=False, known_peers=()),
        recordings=clinic.recordings / "demo",
    )
    protocol = chosen_protocol(PROTOCOL, None, None, options.scene)
    session_id = os.environ.get(network.SESSION_VARIABLE) or network.new_session_id()
    text = network.private_text(session_id)
    with simulated(text):
        sitting = sitting_for(options, protocol)
        network.configure(text)
        if sitting.headless:
            say(
                f"{protocol.name} on a simulated client, {sitting.seconds:g} s without windows; "
                "the signal settles first."
            )

        def open_source() -> LslSource:
            return LslSource(Wanted(source_id="simulated-eeg"), ask=not sitting.headless)

        result = run_sittings(open_source, protocol, clinic, sitting, title=CLIENT, demo=True)
    values = {
        "seconds": result.summary.get("round_s"),
        "points": len(result.points),
        "latency_ms": latency_ms(result),
        "rate": result.summary.get("rate"),
        "recording": str(result.recording) if result.recording else None,
    }
    return report(result, options.json, values)
