"""A recording as tables for a spreadsheet: points, seconds, events and settings.

UTF-8 with a mark by which spreadsheets know it, commas, points in numbers. A text that a
spreadsheet would take for a formula gets an apostrophe in front (OWASP, "CSV Injection", from
memory: a cell that begins with =, +, -, @, a tab or a line end); whatever breaks a line becomes a
space. Units stand in the headers; an undefined number is ``nan``.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from pathlib import Path

from engine.events import LimitChanged, SettingChanged
from engine.export.aside import written_aside
from engine.export.timeline import Timeline, clock_time, timeline_of
from engine.export.words import unit_of
from engine.lookback.course import Course
from engine.protocol import LIMITS
from engine.session.recorded_course import course_of
from engine.session.recording_reader import RecordedSession
from engine.session.shelf import began_utc

Cell = str | int | float | None
Row = Sequence[Cell]

_FORMULA = ("=", "+", "-", "@", "＝", "＋", "－", "＠")


def write_tables(session: RecordedSession, folder: Path) -> tuple[Path, ...]:
    """Write the four tables into ``folder``; RecordError when they cannot be.

    Their names are the recording's and what is in them.
    """
    timeline = timeline_of(session)
    began = began_utc(session)
    local = None if began is None else began.astimezone()
    tables = {
        "points": _points(session, timeline, local),
        "seconds": _seconds(session),
        "events": _events(timeline, local),
        "settings": _settings(session),
    }
    paths = []
    for name, rows in tables.items():
        path = folder / f"{session.path.stem}-{name}.csv"
        with written_aside(path) as aside:
            _write(aside, rows)
        paths.append(path)
    return tuple(paths)


def safe(text: str) -> str:
    """Return a text that a spreadsheet shows and never runs."""
    line = "".join(letter if letter.isprintable() else " " for letter in text)
    return f"'{line}" if line.lstrip().startswith(_FORMULA) else line


def _write(path: Path, rows: Iterable[Row]) -> None:
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        for row in rows:
            writer.writerow([safe(cell) if isinstance(cell, str) else cell for cell in row])


def _points(session: RecordedSession, timeline: Timeline, began: datetime | None) -> Iterator[Row]:
    yield "point", "time_s", "time_of_day", "sample", "round"
    rounds = [h for h in timeline.happenings if h.kind == "round" and h.duration_s is not None]
    for point in session.points():
        begun = [h.text for h in rounds if h.onset_s <= point.onset_s]
        number = begun[-1].removeprefix("round ") if begun else ""
        at = clock_time(began, point.onset_s)
        yield point.number, round(point.onset_s, 6), at, point.sample, number


def _seconds(session: RecordedSession) -> Iterator[Row]:
    """Yield a row a second of ticks, or less of one where a round or a stretch begins in it."""
    course = course_of(session)
    scale = session.protocol.scale.replace("-", "_")
    bands = [c.band for c in course.conditions]
    yield (
        "time_s",
        "part",
        *(f"{band}_mean_uv_{scale}" for band in bands),
        *(f"{band}_threshold_uv_{scale}" for band in bands),
        *(f"{band}_met_share" for band in bands),
        "clear_share",
        "points",
    )
    rows = course.rows
    for i, time_s in enumerate(rows.time_s.tolist()):
        n_ticks = int(rows.n_ticks[i])
        values = (
            *rows.mean_uv[i].tolist(),
            *course.settings_at(time_s + n_ticks * course.tick_s).thresholds_uv,
            *rows.met_share[i].tolist(),
            int(rows.n_clear[i]) / n_ticks,
        )
        yield (
            round(time_s, 3),
            _part(course, int(rows.round[i]), int(rows.stretch[i])),
            *(round(value, 4) for value in values),
            int(rows.points[i]),
        )


def _part(course: Course, at: int, stretch: int) -> str:
    if stretch:
        return course.stretches[stretch - 1].what
    return f"round {course.rounds[at - 1].number}" if at else ""


def _events(timeline: Timeline, began: datetime | None) -> Iterator[Row]:
    yield "time_s", "time_of_day", "duration_s", "kind", "what", "by", "sample"
    for h in timeline.happenings:
        at = clock_time(began, h.onset_s)
        lasted = None if h.duration_s is None else round(h.duration_s, 6)
        yield round(h.onset_s, 6), at, lasted, h.kind, h.text, h.by, h.sample


def _settings(session: RecordedSession) -> Iterator[Row]:
    """Yield what was set at the start, then every change when it took effect."""
    protocol, settings = session.protocol, session.protocol.settings
    yield "time_s", "setting", "value", "unit", "by", "how"
    facts: dict[str, tuple[Cell, str]] = {
        "protocol": (protocol.name, ""),
        "site": (protocol.site, ""),
        "reference": (protocol.reference, ""),
        "ground": (protocol.ground, ""),
        "eyes": (protocol.eyes, ""),
        "scale of amplitudes": (protocol.scale, ""),
        "estimator": (protocol.estimator, ""),
        "rate of samples": (session.info.sfreq, "Hz"),
        "zone, low": (protocol.zone[0], "points/min"),
        "zone, high": (protocol.zone[1], "points/min"),
    }
    for c in protocol.conditions:
        facts |= {
            f"{c.band}.channel": (c.channel or protocol.site, ""),
            f"{c.band}.low": (c.low_hz, "Hz"),
            f"{c.band}.high": (c.high_hz, "Hz"),
            f"{c.band}.direction": (c.direction, ""),
        }
    facts |= {key: (settings.value(key), unit_of(key)) for key in settings.keys}
    facts |= {key: (protocol.clearness.value(key), unit_of(key)) for key in LIMITS}
    for name, (value, unit) in facts.items():
        yield 0.0, name, value, unit, "", "protocol"
    for event in session.events():
        if isinstance(event, SettingChanged | LimitChanged):
            unit = unit_of(event.key)
            yield round(event.onset_s, 6), event.key, event.new, unit, event.by, event.how
