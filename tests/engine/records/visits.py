"""Visits of an invented client, recorded as a host records them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from engine.pipeline import Pipeline
from engine.practice.visit import Consent, FollowUp, Visit
from engine.protocol import SCALES, Protocol
from engine.session.asks import AskNudge, AskRound
from engine.session.description import filters_of, plan_values
from engine.session.live import LiveSession
from engine.session.recording import Recording
from tests.engine.session.examples import INFO, chunks_of, rhythm
from tests.engine.session.recorded import LONG

FIRST, SECOND = "20261125-104547-smr-up-c4", "20261126-110000-smr-up-c4"

CONSENT = Consent("client", None, ("Local rules decide.",), "2026-11-25T10:40:00+00:00", "MK")
VISIT = Visit(
    client="HERON-07",
    number=1,
    identifier="born 1987",
    card={"hand": "left"},
    operator="MK",
    visit_id="20261125-104000-HERON-07",
    site="C4",
    reference="A2",
    side="right",
    today={"sleep": "7 h"},
    screening={"seizures": "no"},
    consent=CONSENT,
)
LATER = replace(
    VISIT,
    number=2,
    visit_id="20261126-105500-HERON-07",
    consent=Consent(),
    screening={},
    follow_ups=(FollowUp(f"{FIRST}:1", "gone after an hour"),),
)
EFFECT = {
    "what": "headache",
    "words": "",
    "when": "right after",
    "severity": "mild",
    "done": "rested",
    "follow_up": True,
}


def began(stem: str) -> datetime:
    return datetime.strptime(stem[:15], "%Y%m%d-%H%M%S").replace(tzinfo=UTC)


def on_scale(protocol: Protocol, scale: str) -> Protocol:
    """Return the protocol on another scale, its thresholds at the same amplitudes."""
    factor = SCALES[scale]
    conditions = tuple(
        replace(c, threshold_uv=c.threshold_uv * factor) for c in protocol.conditions
    )
    return replace(protocol, scale=scale, conditions=conditions)


def recorded_visit(
    folder: Path,
    visit: Visit | None = VISIT,
    stem: str = FIRST,
    *,
    scale: str = "peak",
    entries: Sequence[tuple[str, dict[str, Any]]] = (),
    passphrase: str = "",
) -> Path:
    """Record a baseline of 6 s and a round of 14 s with a nudge in it."""
    protocol = on_scale(LONG, scale)
    pipeline = Pipeline(protocol, INFO.ch_names, INFO.sfreq)
    recording = Recording(folder, stem, passphrase=passphrase, utc=lambda: began(stem))
    recording.begin(protocol, INFO, "0.1.0", plan_values(pipeline.plan, pipeline.settings))
    for name, taps in filters_of(pipeline.plan).items():
        recording.taps(name, taps)
    recording.anchor(0.001)
    live = LiveSession(protocol, pipeline, recording, lambda said: None, by="MK")
    if visit is not None:
        live.entry("visit", visit.values())
    live.segment(0.0, "start")
    chunks = list(chunks_of(rhythm(25.0)))
    for number, chunk in enumerate(chunks):
        if number == len(chunks) // 10:
            live.stretch("baseline before", 6.0)
        if number == len(chunks) // 2:
            live.round(AskRound("start"))
        if number == 3 * len(chunks) // 4:
            live.nudge(AskNudge("smr.threshold", "key", value=3.5 * SCALES[scale]))
        live.data(chunk)
    for topic, values in entries:
        live.entry(topic, values)
    live.end("operator")
    recording.meta("ended", "the operator closed the session")
    recording.close()
    assert recording.path is not None
    return recording.path
