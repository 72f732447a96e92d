"""`nudgeline lookback`: what a recorded session came to, in numbers and in sentences."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import asdict
from pathlib import Path
from typing import Any

from engine.clinic import load_clinic
from engine.errors import bad_value
from engine.lookback import sentences
from engine.lookback.progress_note import progress_note
from engine.lookback.review import Effect, Piece, Review, review
from engine.records.notes import amend, notes
from engine.records.opening import NAME, Records, open_records
from engine.session.recorded_course import recorded_course
from engine.session.shelf import find_recording
from ui.verbs.filing import keep_note
from ui.verbs.passphrase import passphrase_for
from ui.verbs.speech import print_json, say


def run(options: Namespace) -> int:
    """Look back on one recording: as a note, or as an object of every number."""
    path = find_recording(load_clinic().recordings, options.id)
    if options.amend is not None:
        return _amend(path, options.amend, options.by or "")
    if options.json:
        print_json(facts(_seen(path)) | {"recording": str(path)})
        return 0
    beside = path.with_name(NAME)
    kept = notes(_records(beside), path.stem) if beside.is_file() else ()
    print(kept[0].words if kept else progress_note(_seen(path)), end="")
    for added in kept[1:]:
        print(f"\nAmended {added.written_utc} by {added.operator}\n{added.words}")
    return 0


def _seen(path: Path) -> Review:
    return review(recorded_course(path, passphrase_for(path)))


def _records(path: Path) -> Records:
    return open_records(path, passphrase_for(path))


def _amend(path: Path, words: str, by: str) -> int:
    """Add to the note of a closed session: the note itself stays as it was locked."""
    if not words.strip():
        raise bad_value("--amend", words, "some words", "say what is to be added")
    if not by.strip():
        raise bad_value("--by", by, "a name or initials", "say who adds it")
    records = _records(path.with_name(NAME))
    if not notes(records, path.stem):
        keep_note(records, path, path.stem)
    amend(records, path.stem, words.strip(), by.strip())
    say(f"Added to the note of {path.stem}.")
    return 0


def facts(seen: Review) -> dict[str, Any]:
    """Return everything that the look back shows as plain values."""
    course = seen.course
    bands = [condition.band for condition in course.conditions]
    return {
        "id": course.id,
        "client": course.visit.get("client") or None,
        "number": course.visit.get("number") if course.visit.get("client") else None,
        "began": course.began_utc.isoformat() if course.began_utc else None,
        "ended": course.ended or None,
        "duration_s": course.end_s,
        "scale": course.protocol.scale,
        "whole": _piece(seen.whole, bands),
        "rounds": [_piece(piece, bands) for piece in seen.rounds],
        "minutes": [_piece(piece, bands) for piece in seen.minutes],
        "baseline_before": _piece(seen.before, bands) if seen.before else None,
        "baseline_after": _piece(seen.after, bands) if seen.after else None,
        "nudges": [_effect(effect) for effect in seen.effects],
        "changes": {
            found.band: {
                name: asdict(value) if value is not None else None
                for name, value in (
                    ("within", found.within),
                    ("met", found.met),
                    ("without_muscle", found.without_muscle),
                    ("baselines", found.baselines),
                )
            }
            for found in seen.changes
        },
        "practitioner": list(sentences.practitioner(seen)),
        "client_words": list(sentences.client(seen)),
        "note": progress_note(seen),
    }


def _piece(piece: Piece, bands: list[str]) -> dict[str, Any]:
    return {
        "name": piece.name,
        "start_s": piece.start_s,
        "stop_s": piece.stop_s,
        "mean_uv": dict(zip(bands, piece.mean_uv, strict=True)),
        "met_fraction": dict(zip(bands, piece.met_share, strict=True)),
        "points": piece.points,
        "rate": piece.rate,
        "rate_at_first_settings": piece.fixed_rate,
        "total_s": piece.total_s,
        "clear_s": piece.clear_s,
        "in_zone_fraction": piece.zone_share,
    }


def _effect(effect: Effect) -> dict[str, Any]:
    return {
        "key": effect.key,
        "old": effect.old,
        "new": effect.new,
        "time_s": effect.time_s,
        "by": effect.by,
        "how": effect.how,
        "rate_before": effect.before.rate,
        "rate_after": effect.after.rate,
        "enough": effect.enough,
    }
