"""What the header of an EDF+ file holds, in the letters and the room that it has."""

from __future__ import annotations

from datetime import datetime

from edfio import Recording

from engine.events import Entry
from engine.session.recording_reader import RecordedSession

LONGEST_TEXT = 200
"""Letters of one annotation: the longest one sets the size of every data record."""


def record_length(sfreq: float) -> tuple[int, float]:
    """Return (samples, seconds) of one data record.

    The header has eight letters for the seconds, so that most rates can only be met nearly: of
    the records of half a second to a second and a half, the one that meets it best.
    """

    def miss(n: int) -> tuple[float, float]:
        return round(abs(round(n / sfreq, 6) * sfreq / n - 1), 12), abs(n - sfreq)

    n = min(range(max(1, round(sfreq / 2)), round(sfreq * 1.5) + 1), key=miss)
    return n, round(n / sfreq, 6)


def annotation_text(text: str) -> str:
    """Return a text that an annotation may hold: one line, not too long."""
    plain = "".join(letter if letter.isprintable() else " " for letter in text).strip()
    return plain if len(plain) <= LONGEST_TEXT else f"{plain[: LONGEST_TEXT - 1]}…"


def client_code(session: RecordedSession) -> str:
    """Return the code of the client; empty where none was written down."""
    visits = [e for e in session.events() if isinstance(e, Entry) and e.topic == "visit"]
    return str(visits[-1].values.get("client", "")) if visits else ""


def subfield(text: str, most: int) -> str:
    """Return a subfield of the header: ASCII without spaces, X where nothing is known."""
    kept = "".join(c if c.isascii() and c.isprintable() and c != " " else "_" for c in text)
    return kept[:most] or "X"


def recording_of(session: RecordedSession, local: datetime | None) -> Recording:
    """Return what the header says of a session that began at ``local``."""
    zone = "" if local is None else f"UTC{local.strftime('%z')}"
    return Recording(
        startdate=None if local is None else local.date(),
        hospital_administration_code=subfield(session.path.stem, 28),
        equipment_code=subfield(f"Nudgeline_{session.program}", 16),
        additional=(zone,) if zone else (),
    )


def labels_of(names: list[str]) -> list[str]:
    """Return labels of at most 16 letters of ASCII, no two alike."""
    labels: list[str] = []
    for name in names:
        plain = "".join(c if c.isascii() and c.isprintable() else "_" for c in name).strip()
        label, number = plain[:16], 1
        while label in labels or not label:
            number += 1
            label = f"{plain[: 15 - len(str(number))]}~{number}"
        labels.append(label)
    return labels
