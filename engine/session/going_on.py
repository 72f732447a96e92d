"""Going on from a recording whose session was cut off: the protocol as it stood at the end."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from engine.events import LimitSet, Nudge
from engine.protocol import Protocol, with_settings
from engine.session.recording_reader import read_session


def protocol_at_the_end(path: Path, passphrase: str = "") -> Protocol:
    """Return a recording's protocol with every nudge and limit that was set.

    RecordError where it cannot be read.
    """
    session = read_session(path, passphrase)
    changes: dict[str, float] = {}
    limits = session.protocol.clearness
    for event in session.events():
        if isinstance(event, Nudge):
            changes[event.key] = event.value
        elif isinstance(event, LimitSet):
            limits = limits.changed(event.key, event.value)
    return replace(with_settings(session.protocol, changes), clearness=limits)
