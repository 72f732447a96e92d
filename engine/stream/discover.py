"""Finding the one stream that is meant, and refusing to guess where several could be.

A stream is known by source_id, computer and uid together. Names are what people type, but two
outlets with one name or one source_id are never told apart silently.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import pylsl

from engine.errors import SourceError, bad_value
from engine.stream.messages import Question
from engine.stream.metadata import Description, describe
from engine.stream.network import require_configured, scope_of

FIRST_LOOK_S = 0.25
OTHERS_S = {"machine": 0.5}
OTHERS_WIDER_S = 1.5
"""Once one stream is found, others are waited for: on a network they answer later."""

NO_ID = "(none)"
"""How a question calls an outlet without a source_id."""


@dataclass(frozen=True)
class Wanted:
    """What to look for; empty fields do not matter. With a name or an id, any type is taken."""

    name: str = ""
    kind: str = "EEG"
    source_id: str = ""

    @property
    def text(self) -> str:
        """How messages call it."""
        if self.name or self.source_id:
            parts = [f"named {self.name!r}"] if self.name else []
            parts += [f"with source_id {self.source_id!r}"] if self.source_id else []
            return "stream " + " ".join(parts)
        return f"stream of type {self.kind}"

    def fits(self, found: Description) -> bool:
        """Tell whether a stream is among those that are meant."""
        if self.name or self.source_id:
            same_name = self.name in ("", found.name)
            return same_name and self.source_id in ("", found.source_id)
        return found.kind.casefold() == self.kind.casefold()


def choose(
    found: list[Description], wanted: Wanted, answer: str = "", reach: str = "in reach"
) -> Description | Question:
    """Return the one stream that is meant, or the question which; ``answer`` is a source_id.

    ``reach`` says where it was looked for.
    SourceError where none is there, or where two outlets say they are the same amplifier;
    ConfigError where ``answer`` is none of them.
    """
    fitting = [stream for stream in found if wanted.fits(stream)]
    if not fitting:
        others = ", ".join(sorted({f"{s.name!r} ({s.kind or 'no type'})" for s in found}))
        raise SourceError(
            f"No {wanted.text} was found {reach}, but one must be sending "
            f"({'there are ' + others if others else 'there is no stream at all'}); start the "
            "amplifier's program, or name the stream with --stream."
        )
    ids = sorted({stream.source_id or NO_ID for stream in fitting})
    if answer:
        if answer not in ids:
            raise bad_value("source-id", answer, f"one of {', '.join(ids)}", "choose one of them")
        fitting = [stream for stream in fitting if (stream.source_id or NO_ID) == answer]
    elif len(ids) > 1:
        places = "; ".join(
            f"{s.source_id or NO_ID}: {s.name}, {s.n_channels} channels, on {s.hostname}"
            for s in sorted(fitting, key=lambda s: s.source_id)
        )
        return Question(
            "source-id",
            f"{len(fitting)} streams could be the {wanted.text} ({places}), but one must be meant; "
            "choose its source_id.",
            tuple(ids),
        )
    if len(fitting) > 1:
        hosts = ", ".join(sorted(stream.hostname or "unknown" for stream in fitting))
        raise SourceError(
            f"{len(fitting)} outlets call themselves {fitting[0].name!r} with source_id "
            f"{fitting[0].source_id or NO_ID!r} (on {hosts}), but an amplifier may be there only "
            "once; stop the others, or give each its own source_id."
        )
    return fitting[0]


def look(wanted: Wanted, patience_s: float, stopped: Callable[[], bool]) -> list[pylsl.StreamInfo]:
    """Return every stream in reach, as soon as one of those that are meant is among them.

    Waits up to ``patience_s`` for the first, and then a moment for others; empty when stopped.
    """
    scope = scope_of(require_configured())
    deadline = time.monotonic() + patience_s
    while True:
        found = pylsl.resolve_streams(FIRST_LOOK_S)
        if any(wanted.fits(describe(info.as_xml())) for info in found):
            break
        if stopped() or time.monotonic() >= deadline:
            return [] if stopped() else list(found)
    return list(pylsl.resolve_streams(OTHERS_S.get(scope, OTHERS_WIDER_S)))


def same_amplifier(lost: Description, found: Description) -> bool:
    """Tell whether an outlet claims to be the amplifier that was lost.

    By source_id; an amplifier without one by name, type and computer, which the reader says.
    """
    if lost.source_id:
        return found.source_id == lost.source_id
    mine = (lost.name, lost.kind, lost.hostname, "")
    return mine == (found.name, found.kind, found.hostname, found.source_id)


def quoted(text: str) -> str | None:
    """Return ``text`` as a literal of the query language, None where it cannot be written."""
    for quote in ("'", '"'):
        if quote not in text:
            return f"{quote}{text}{quote}"
    return None


def predicate_for(lost: Description) -> str:
    """Return the query that finds a lost amplifier again (and perhaps others)."""
    key, text = ("source_id", lost.source_id) if lost.source_id else ("name", lost.name)
    literal = quoted(text)
    return f"{key}={literal}" if literal else f"starts-with({key},'')"
