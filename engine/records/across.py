"""Sessions of a client as they are looked at together: from the records, and scored alike.

What was filed is enough for amplitudes, ratings and what was told. Points compare only when every
session is scored at the same settings, and for that the recordings themselves are read again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from sqlalchemy import select

from engine.errors import NudgelineError
from engine.lookback.sessions_seen import BandSeen, RoundSeen, SessionSeen, told_of
from engine.protocol import SCALES
from engine.records import tables as t
from engine.records.opening import Records
from engine.records.sessions import SessionKept, sessions
from engine.session.recorded_ticks import recorded_ticks
from engine.session.recording_reader import read_session
from engine.session.recording_tables import encrypted
from engine.session.rescoring import rate_at
from engine.settings import Settings, is_threshold
from engine.signal.grid import grid_for


def seen_sessions(records: Records, client: str = "") -> dict[str, tuple[SessionSeen, ...]]:
    """Return all sessions of every client, or of one, by the client's code, in order of time.

    Amplitudes are on each session's own scale. ConfigError where there is no such client.
    """
    kept = [session for session in sessions(records, client) if session.client]
    with records.reading() as connection:
        rounds = _by(connection.execute(select(t.session_round)).all(), "session_id")
        effects = _by(connection.execute(select(t.adverse)).all(), "session_id")
        told = {row.id: row.told for row in connection.execute(select(t.visit)).all()}
    found: dict[str, list[SessionSeen]] = {}
    for session in kept:
        said = told_of(
            told.get(session.visit) or {},
            [row.what for row in effects.get(session.id, ()) if row.what],
        )
        seen = _seen(session, rounds.get(session.id, ()), said)
        found.setdefault(session.client, []).append(seen)
    return {code: tuple(each) for code, each in found.items()}


def recordings_of(records: Records, client: str) -> dict[str, Path]:
    """Return where the recordings of a client's sessions are, of those that are still there.

    One that was moved together with the records is found beside them.
    """
    found = {}
    for session in sessions(records, client):
        places = (Path(session.recording), records.path.with_name(f"{session.id}.sqlite"))
        there = next((place for place in places if place.is_file()), None)
        if there is not None:
            found[session.id] = there
    return found


def scored_alike(
    given: Sequence[SessionSeen],
    recordings: Mapping[str, Path],
    last: SessionSeen,
    passphrase: str = "",
    said: Callable[[str], object] = lambda _: None,
) -> tuple[SessionSeen, ...]:
    """Return the sessions with the rate that each would have had at the settings of ``last``.

    A session whose recording is not there, or cannot be read, has none; ``said`` hears why.
    """
    scored = []
    for session in given:
        path, rate = recordings.get(session.id), None
        if path is not None:
            try:
                rate = _rate(path, passphrase, last)
            except NudgelineError as error:
                said(str(error))
        scored.append(replace(session, rate=rate))
    return tuple(scored)


def _rate(path: Path, passphrase: str, last: SessionSeen) -> float | None:
    session = read_session(path, passphrase if encrypted(path) else "")
    protocol = session.protocol
    factor = SCALES[protocol.scale] / SCALES[last.scale]
    settings: Settings = protocol.settings
    for key, value in last.settings:
        settings = settings.changed(key, value * factor if is_threshold(key) else value)
    return rate_at(recorded_ticks(session), protocol, settings, grid_for(session.info.sfreq))


def _seen(kept: SessionKept, rounds: Sequence[Any], told: tuple[str, ...]) -> SessionSeen:
    factor = SCALES[kept.scale]

    def scaled(value: float | None) -> float | None:
        return None if value is None else value * factor

    bands = tuple(
        BandSeen(
            band=band.band,
            label=band.label,
            direction=band.direction,
            low_hz=band.low_hz,
            high_hz=band.high_hz,
            channel=band.channel,
            threshold_uv=band.threshold_uv,
            mean_uv=band.mean_uv,
            before_uv=band.before_uv,
            after_uv=band.after_uv,
        )
        for band in (each.on(kept.scale) for each in kept.bands)
    )
    return SessionSeen(
        id=kept.id,
        began_utc=kept.began_utc,
        protocol=kept.protocol,
        site=kept.site,
        reference=kept.reference,
        scale=kept.scale,
        clear_s=kept.clear_s,
        bands=bands,
        rounds=tuple(
            RoundSeen(
                row.number,
                row.clear_s,
                tuple((band, scaled(uv)) for band, uv in row.means_uv.items()),
            )
            for row in sorted(rounds, key=lambda row: int(row.number))
        ),
        settings=tuple(kept.settings.items()),
        number=kept.number,
        estimator=kept.estimator,
        earned=kept.rate,
        rating=kept.rating,
        told=told,
    )


def _by(rows: Sequence[Any], key: str) -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = {}
    for row in rows:
        found.setdefault(getattr(row, key), []).append(row)
    return found
