"""Both reports of a recording, and the names of their files."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from engine.export.aside import written_aside
from engine.report.client_page import client_page
from engine.report.facts import facts_of
from engine.report.full_page import full_page
from engine.session.recording_reader import read_session


@dataclass(frozen=True)
class Report:
    """``kind`` is ``client`` or ``full``; ``html`` was written to ``path``."""

    kind: str
    path: Path
    html: str


def write_reports(
    path: Path, folder: Path, made: datetime, passphrase: str = ""
) -> tuple[Report, ...]:
    """Write both reports of a recording as HTML, private to the user.

    RecordError when it cannot be read or they cannot be written.
    """
    facts = facts_of(read_session(path, passphrase), made)
    written = []
    for kind, html in (("client", client_page(facts)), ("full", full_page(facts))):
        target = folder / f"{path.stem}-{kind}.html"
        with written_aside(target) as aside:
            aside.write_text(html, encoding="utf-8")
        written.append(Report(kind, target, html))
    return tuple(written)
