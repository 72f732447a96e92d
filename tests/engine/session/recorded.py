"""A short session with all that can happen in it, recorded as a host records it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from engine.events import Entry, SourceLost, SourceReturned
from engine.pipeline import Pipeline
from engine.protocol import Protocol, Rounds
from engine.session.asks import AskNudge, AskRound
from engine.session.description import filters_of, plan_values
from engine.session.live import Hear, LiveSession
from engine.session.recording import Recording
from tests.engine.session.examples import INFO, PROTOCOL, chunks_of, rhythm

STEM = "20261125-104547-smr-up-c4"
BEGAN = datetime(2026, 11, 25, 10, 45, 47, 250_000, tzinfo=UTC)
LONG = replace(PROTOCOL, rounds=Rounds(count=1, length_s=3600.0, rest_s=0.0))


def begun_live(
    folder: Path,
    protocol: Protocol = LONG,
    stem: str = STEM,
    hear: Hear = lambda said: None,
    passphrase: str = "",
) -> LiveSession:
    """Open a recording as a host does; nothing is fed yet."""
    pipeline = Pipeline(protocol, INFO.ch_names, INFO.sfreq)
    recording = Recording(folder, stem, passphrase=passphrase, utc=lambda: BEGAN)
    recording.begin(protocol, INFO, "0.1.0", plan_values(pipeline.plan, pipeline.settings))
    for name, taps in filters_of(pipeline.plan).items():
        recording.taps(name, taps)
    recording.anchor(0.001)
    return LiveSession(protocol, pipeline, recording, hear, by="AB")


def recorded_session(
    folder: Path,
    *,
    gap_s: float = 1.5,
    hear: Hear = lambda said: None,
    passphrase: str = "",
) -> Path:
    """Record 34 s: a round, a nudge at 8 s, a note, a gap at 20 s, another round's rest."""
    live = begun_live(folder, hear=hear, passphrase=passphrase)
    raw = rhythm(34.0)
    third = round(20 * INFO.sfreq)
    live.log(Entry(0, 0.0, "visit", {"client": "HERON-07", "number": 4, "name": "A. Person"}))
    live.segment(0.0, "start")
    live.round(AskRound("start"))
    for number, chunk in enumerate(chunks_of(raw[:third])):
        live.data(chunk)
        if number == 200:
            live.nudge(AskNudge("smr.threshold", "key", steps=-1))
            live.note("=said that it is quiet; µV and ü")
    live.log(SourceLost(live.pipeline.sample, "cable"))
    live.log(SourceReturned(live.pipeline.sample, "the same amplifier"))
    live.segment(live.pipeline.time_s + gap_s, "gap")
    for chunk in chunks_of(raw[third:], first_s=live.pipeline.time_s):
        live.data(chunk)
    live.end("operator")
    live.recording.meta("ended", "operator")
    live.recording.close()
    assert live.recording.path is not None
    return live.recording.path
