"""`nudgeline run`: a live session on an LSL stream."""

from __future__ import annotations

import os
from argparse import Namespace

from engine.clinic import load_clinic
from engine.errors import ConfigError
from engine.protocol import Protocol
from engine.stream import network
from engine.stream.discover import Wanted
from engine.stream.labels import wanted_label
from engine.stream.memory import AmplifierMemory
from engine.stream.reader import LslSource
from ui.verbs.choices import chosen_protocol
from ui.verbs.live import latency_ms, report, run_sittings, sitting_for
from ui.verbs.speech import say


def run(options: Namespace) -> int:
    """Train on the stream that is asked for; print what `score` prints, for the live stream.

    Without a protocol the desk receives a client and chooses; it opens again for the next one.
    """
    clinic = load_clinic()
    protocol = _protocol(options)
    sitting = sitting_for(options, protocol)
    for warning in clinic.warnings:
        say(warning)
    network.configure(network.text_for(clinic.network, os.environ))
    given = {
        "unit": options.unit,
        "channel": options.channel,
        "source-id": options.source_id,
        "accept-rate": options.accept_rate,
    }
    memory = AmplifierMemory()

    def open_source() -> LslSource:
        return LslSource(
            Wanted(name=options.stream or "", source_id=options.source_id or ""),
            answers={key: value for key, value in given.items() if value is not None},
            ask=not sitting.headless,
            memory=memory,
        )

    result = run_sittings(open_source, protocol, clinic, sitting, title=options.client, demo=False)
    values = {
        **result.summary,
        "recording": str(result.recording) if result.recording else None,
        "latency_ms": latency_ms(result),
        "error": str(result.error) if result.error else None,
    }
    return report(result, options.json, values)


def _protocol(options: Namespace) -> Protocol | None:
    """Return the protocol that is named; None where the desk is to choose."""
    if options.protocol is None:
        changes = (
            ("--channel", options.channel),
            ("--set", options.set),
            ("--scene", options.scene),
        )
        for option, value in changes:
            if value:
                raise ConfigError(
                    f"{option} is given without --protocol, but it changes one; name the protocol, "
                    "or leave both to the desk."
                )
        return None
    site = wanted_label(options.channel) if options.channel else None
    return chosen_protocol(options.protocol, site, options.set, options.scene)
