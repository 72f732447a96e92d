"""A finished progress note, made from the record: plain text, to be copied into a client's file.

It states what was done, measured and said, in the order in which notes are read: who, what was
found before, what was trained, how it went, what was noticed, what comes next. What was not
written down is not made up: its line is left out, or says so where its absence matters.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from engine.lookback import sentences
from engine.lookback.course import Course
from engine.lookback.review import Effect, Piece, Review
from engine.practice.screening import said_today
from engine.protocol import Protocol

WIDEST = 8
"""Changes of settings that are listed one by one; of more, their number is given."""


def progress_note(seen: Review) -> str:
    """Return the note of a session."""
    course = seen.course
    parts = [
        _who(course),
        _titled("Today", _today(course)),
        _titled("Hookup", _hookup(course)),
        _titled("Training", _training(seen)),
        _titled("Result", list(sentences.practitioner(seen))),
        _titled("Client", _client(course)),
        _titled("Adverse effects", _adverse(course)),
        _titled("After", _after(course)),
        _titled("Next session", [str(course.said("plan").get("next") or "not planned yet")]),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _titled(title: str, lines: Sequence[str]) -> str:
    kept = [line for line in lines if line]
    return f"{title}\n" + "\n".join(f"- {line}" for line in kept) if kept else ""


def _who(course: Course) -> str:
    visit = course.visit
    client = str(visit.get("client") or "client not named")
    number = f", session {visit['number']}" if visit.get("client") and visit.get("number") else ""
    began = f"{course.began_utc:%Y-%m-%d %H:%M} UTC" if course.began_utc else "date not known"
    operator = str(visit.get("operator") or "")
    lines = [
        f"{client}{number}, {began}",
        f"{course.protocol.name}; sensor at {_sensors(course)}"
        + (f"; operator {operator}" if operator else ""),
        f"Recording {course.id}" + ("" if course.ended else ", not closed yet"),
    ]
    return "\n".join(lines)


def _sensors(course: Course) -> str:
    visit, protocol = course.visit, course.protocol
    site, reference, ground = (
        str(visit.get(key) or getattr(protocol, key)) for key in ("site", "reference", "ground")
    )
    named = [f"reference {reference}" if reference else "", f"ground {ground}" if ground else ""]
    said = ", ".join(name for name in named if name)
    return f"{site} ({said})" if said else site


def _today(course: Course) -> list[str]:
    visit = course.visit
    changed = str(visit.get("changed") or "")
    return [*said_today(visit.get("today") or {}), f"Else: {changed}" if changed else ""]


def _hookup(course: Course) -> list[str]:
    kohm = course.said("contact").get("kohm")
    known = (
        {str(site): value for site, value in kohm.items() if isinstance(value, int | float)}
        if isinstance(kohm, Mapping)
        else {}
    )
    if not known:
        return ["Impedances were not written down."]
    return ["Impedances: " + ", ".join(f"{site} {value:g} kΩ" for site, value in known.items())]


def _training(seen: Review) -> list[str]:
    course = seen.course
    if not seen.rounds:
        return ["No round was trained."]
    lines = [f"At the first round: {_wanted(course)}."]
    lines += [_piece(course, piece, trained=False) for piece in (seen.before,) if piece]
    lines += [_piece(course, piece) for piece in seen.rounds]
    lines += [_piece(course, piece, trained=False) for piece in (seen.after,) if piece]
    return [*lines, *_nudges(seen)]


def _wanted(course: Course) -> str:
    fixed, protocol = course.fixed, course.protocol
    bands = ", ".join(
        f"{c.label} {c.low_hz:g}–{c.high_hz:g} Hz {c.direction} {uv:.2f}"
        for c, uv in zip(protocol.conditions, fixed.thresholds_uv, strict=True)
    )
    return f"{bands} µV {protocol.scale}, hold {fixed.hold_s:g} s, quiet {fixed.quiet_s:g} s"


def _piece(course: Course, piece: Piece, trained: bool = True) -> str:
    means = ", ".join(
        f"{condition.label} {uv:.1f}" if math.isfinite(uv) else f"{condition.label} –"
        for condition, uv in zip(course.conditions, piece.mean_uv, strict=True)
    )
    clear = f"{piece.clear_share:.0%} clear" if math.isfinite(piece.clear_share) else "none clear"
    said = f"{piece.name.capitalize()} ({_length(piece.total_s)}, {clear}): {means} µV"
    if not trained:
        return said
    rate = "" if piece.rate is None else f", {piece.rate:.1f} a clear minute"
    return f"{said}; {piece.points} points{rate}"


def _length(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d} min"


def _nudges(seen: Review) -> list[str]:
    effects = seen.effects
    if not effects:
        return ["No setting was changed."]
    if len(effects) > WIDEST:
        return [f"Settings were changed {len(effects)} times; the recording lists each."]
    return [_nudge(effect, seen.course.protocol) for effect in effects]


def _nudge(effect: Effect, protocol: Protocol) -> str:
    band, _, kind = effect.key.partition(".")
    name = f"{protocol.label(band)} {kind}" if kind else f"{band} time"
    said = f"{_length(effect.time_s)}: {name} {effect.old:g} → {effect.new:g}"
    before, after = effect.before.rate, effect.after.rate
    if effect.enough and before is not None and after is not None:
        said += f" ({before:.0f} → {after:.0f} points a clear minute)"
    return said


def _client(course: Course) -> list[str]:
    rating = course.said("rating")
    picked, words = rating.get("rating"), str(rating.get("words") or "")
    drowsy = [entry for entry in course.entries if entry.topic == "drowsy"]
    times = ", ".join(_length(entry.onset_s) for entry in drowsy)
    return [
        "Own rating: not asked" if picked is None else f"Own rating: {picked} of 10",
        f"Own words: “{words}”" if words else "",
        f"Drowsy at {times}" if drowsy else "",
    ]


def _adverse(course: Course) -> list[str]:
    logged = [entry.values for entry in course.entries if entry.topic == "adverse"]
    return [_effect(values) for values in logged] or ["None was written down."]


def _effect(values: Mapping[str, Any]) -> str:
    what = str(values.get("what") or "")
    if not what:
        return "Marked in the session, not described yet."
    told = [str(values.get(key) or "") for key in ("severity", "when", "words")]
    said = ", ".join(part for part in (what, *told) if part)
    done = str(values.get("done") or "")
    follow = "; ask again next time" if values.get("follow_up") else ""
    return f"{said}{f'; done: {done}' if done else ''}{follow}"


def _after(course: Course) -> list[str]:
    care = course.said("care")
    if not care:
        return []
    left = care.get("left") or ()
    sensors = str(care.get("new_sensors") or care.get("sensors") or "")
    count = f" (session {care['n_sessions']})" if care.get("n_sessions") else ""
    return [
        "Sensors off, cleaned and looked at." if not left else f"Still to do: {len(left)} steps.",
        f"Sensors: {sensors}{count}" if sensors else "",
    ]
