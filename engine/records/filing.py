"""A finished recording taken into the records: everything in it that the records are asked for.

Filing the same recording again changes nothing but what the recording itself now says otherwise.
"""

from __future__ import annotations

import json
from math import isfinite
from pathlib import Path
from typing import Any

from sqlalchemy import delete, insert, select
from sqlalchemy.engine import Connection

from engine.errors import NudgelineError
from engine.events import Entry
from engine.lookback.course import Course
from engine.lookback.review import Piece, Review, review
from engine.practice.visit import Visit, visit_from, visit_id_for
from engine.protocol import SCALES
from engine.records import tables as t
from engine.records.clients import Client, clean_code, id_of, insert_client
from engine.records.consents import Kept, insert_consent
from engine.records.heads import insert_head
from engine.records.opening import Records, now_utc
from engine.records.sensors import change_set, count_wear
from engine.session.recorded_course import course_of
from engine.session.recording_reader import read_session
from engine.session.recording_tables import encrypted


def file_recording(records: Records, path: Path) -> str:
    """File a recording that is closed; return the session's ID.

    RecordError where the recording cannot be read or the records not written; nothing is changed
    then. A session without a client is filed too, with nobody.
    """
    session = read_session(path, records.passphrase if encrypted(path) else "")
    course = course_of(session)
    seen = review(course)
    with records.writing() as connection:
        _forget(connection, course.id)
        visit = _visit_of(course)
        client_id = _client(connection, visit) if visit else None
        visit_id = _visit(connection, course, visit, client_id) if visit and client_id else None
        values = _session_values(seen, visit) | {
            "client_id": client_id,
            "visit_id": visit_id,
            "program": session.program[:32],
            "recording": str(path),
        }
        connection.execute(insert(t.session).values(id=course.id, **values))
        connection.execute(insert(t.session_band), _bands(seen))
        if seen.rounds:
            connection.execute(insert(t.session_round), _rounds(seen))
        _entries(connection, course, client_id, visit_id or course.id)
    return course.id


def _forget(connection: Connection, session: str) -> None:
    """Take out what was derived from this recording before."""
    for table in (t.session_band, t.session_round, t.adverse):
        connection.execute(delete(table).where(table.c.session_id == session))
    connection.execute(delete(t.plan).where(t.plan.c.session_id == session))
    connection.execute(delete(t.session).where(t.session.c.id == session))


def _visit_of(course: Course) -> Visit | None:
    """Return the visit that is written down; None where no client is."""
    try:
        visit = visit_from(course.visit)
        clean_code(visit.client)
    except NudgelineError:
        return None
    return visit


def _client(connection: Connection, visit: Visit) -> int:
    """Return the client's number; who is not known yet is kept by the card in the recording."""
    found = id_of(connection, visit.client)
    if found is not None:
        return found
    card = Client(visit.client, visit.identifier, dict(visit.card), visit.child)
    return insert_client(connection, card)


def _visit(connection: Connection, course: Course, visit: Visit, client_id: int) -> str:
    """Keep the visit, and what was acknowledged and asked at its beginning; return its ID."""
    began = _began(course)
    visit_id = visit.visit_id
    if not visit_id:
        code = clean_code(visit.client)
        visit_id = visit_id_for(code, course.began_utc) if course.began_utc else course.id
    told: dict[str, Any] = {
        "today": dict(visit.today),
        "changed": visit.changed,
        "screening": dict(visit.screening),
        "side": visit.side,
    }
    row = connection.execute(select(t.visit).where(t.visit.c.id == visit_id)).first()
    if row is None:
        connection.execute(
            insert(t.visit).values(
                id=visit_id,
                client_id=client_id,
                number=visit.number,
                began_utc=began,
                operator=visit.operator,
                told=told,
            )
        )
    elif began <= row.began_utc:
        earlier = t.visit.update().where(t.visit.c.id == visit_id)
        changed = {"began_utc": began, "number": visit.number, "operator": visit.operator}
        connection.execute(earlier.values(**changed, told=told))
    insert_consent(connection, client_id, Kept(visit.consent, visit.screening))
    for heard in visit.follow_ups:
        same = (t.follow_up.c.adverse_id == heard.effect) & (t.follow_up.c.visit_id == visit_id)
        connection.execute(delete(t.follow_up).where(same))
        connection.execute(
            insert(t.follow_up).values(
                adverse_id=heard.effect,
                visit_id=visit_id,
                words=heard.words,
                settled=heard.settled,
            )
        )
    return visit_id


def _session_values(seen: Review, visit: Visit | None) -> dict[str, Any]:
    course, whole, protocol = seen.course, seen.whole, seen.course.protocol
    settings = course.start
    for change in course.changes:
        settings = settings.changed(change.key, change.new)
    rating = course.said("rating").get("rating")
    return {
        "number": visit.number if visit else None,
        "operator": visit.operator if visit else "",
        "protocol": protocol.slug,
        "protocol_name": protocol.name,
        "site": protocol.site,
        "reference": protocol.reference,
        "ground": protocol.ground,
        "scale": protocol.scale,
        "estimator": course.estimators[-1].name if course.estimators else protocol.estimator,
        "began_utc": _began(course),
        "ended": course.ended,
        "seconds": course.end_s,
        "round_s": whole.total_s,
        "clear_s": whole.clear_s,
        "clear_share": _known(whole.clear_share),
        "zone_share": _known(whole.zone_share),
        "points": whole.points,
        "rate": whole.rate,
        "fixed_rate": whole.fixed_rate,
        "settings": {key: settings.value(key) for key in settings.keys},
        "rating": rating if isinstance(rating, int) else None,
        "filed_utc": now_utc(),
    }


def _bands(seen: Review) -> list[dict[str, Any]]:
    """Return a row a condition, its amplitudes in µV peak."""
    protocol = seen.course.protocol
    to_peak = 1.0 / SCALES[protocol.scale]
    settings = seen.course.start
    for change in seen.course.changes:
        settings = settings.changed(change.key, change.new)

    def mean(piece: Piece | None, place: int) -> float | None:
        return None if piece is None else _known(piece.mean_uv[place] * to_peak)

    return [
        {
            "session_id": seen.course.id,
            "place": place,
            "band": condition.band,
            "label": condition.label,
            "low_hz": condition.low_hz,
            "high_hz": condition.high_hz,
            "direction": condition.direction,
            "channel": condition.channel or protocol.site,
            "threshold_uv": settings.thresholds_uv[place] * to_peak,
            "mean_uv": mean(seen.whole, place),
            "met_share": _known(seen.whole.met_share[place]),
            "before_uv": mean(seen.before, place),
            "after_uv": mean(seen.after, place),
        }
        for place, condition in enumerate(protocol.conditions)
    ]


def _rounds(seen: Review) -> list[dict[str, Any]]:
    protocol = seen.course.protocol
    to_peak = 1.0 / SCALES[protocol.scale]
    return [
        {
            "session_id": seen.course.id,
            "number": number,
            "start_s": piece.start_s,
            "stop_s": piece.stop_s,
            "points": piece.points,
            "rate": piece.rate,
            "clear_s": piece.clear_s,
            "clear_share": _known(piece.clear_share),
            "zone_share": _known(piece.zone_share),
            "means_uv": {
                condition.band: _known(mean * to_peak)
                for condition, mean in zip(protocol.conditions, piece.mean_uv, strict=True)
            },
        }
        for number, piece in enumerate(seen.rounds, start=1)
    ]


def _entries(connection: Connection, course: Course, client_id: int | None, worn_in: str) -> None:
    """Keep what was written down: adverse effects, the sensors worn, the plan, the head."""
    care = course.said("care")
    if care:
        worn, new = (str(care.get(key) or "").strip() for key in ("sensors", "new_sensors"))
        count_wear(connection, worn or new, worn_in, "" if worn else _began(course)[:10])
        if worn and new:
            change_set(connection, worn, new, _began(course)[:10])
    effects = [entry for entry in course.entries if entry.topic == "adverse"]
    for place, entry in enumerate(effects, start=1):
        if _described(entry) or not any(map(_described, effects[place:])):
            connection.execute(insert(t.adverse).values(_effect(course, client_id, entry, place)))
    if client_id is None:
        return
    plan = course.said("plan")
    if plan.get("next"):
        connection.execute(
            insert(t.plan).values(
                client_id=client_id,
                words=str(plan["next"]),
                made_utc=_began(course),
                operator=str(course.visit.get("operator", "")),
                session_id=course.id,
            )
        )
    for entry in course.entries:
        if entry.topic == "head" and entry.values:
            insert_head(connection, client_id, json.loads(json.dumps(entry.values)))


def _described(entry: Entry) -> bool:
    return bool(entry.values.get("what") or entry.values.get("words"))


def _effect(course: Course, client_id: int | None, entry: Entry, place: int) -> dict[str, Any]:
    texts = {key: str(entry.values.get(key) or "") for key in ("what", "words", "severity", "done")}
    if not _described(entry):
        texts["what"] = "marked, and not described"
    return {
        **texts,
        "id": f"{course.id}:{place}",
        "session_id": course.id,
        "client_id": client_id,
        "noticed": str(entry.values.get("when") or ""),
        "follow_up": bool(entry.values.get("follow_up", not _described(entry))),
        "logged_utc": _began(course),
        "operator": entry.by,
    }


def _began(course: Course) -> str:
    return course.began_utc.isoformat(timespec="seconds") if course.began_utc else ""


def _known(number: float) -> float | None:
    return float(number) if isfinite(number) else None
