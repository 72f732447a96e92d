"""What a source of samples tells the host, in order, through one lossless queue.

A source opens, asks what only the operator can decide, measures its rate, and only then says
`Opened`; what it pulled meanwhile follows at once. From then on every sample belongs to the
segment announced last.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from engine.chunk import Chunk, StreamInfo
from engine.errors import NudgelineError


@dataclass(frozen=True)
class Question:
    """Something only the operator can decide; nothing is rewarded before the answer.

    ``key`` is also the option that answers it on the command line (``unit``, ``channel``,
    ``source-id``, ``accept-rate``). ``suggestion`` is one of ``choices`` or empty.
    """

    key: str
    text: str
    choices: tuple[str, ...]
    suggestion: str = ""


@dataclass(frozen=True)
class Opened:
    """The stream is understood; ``info.sfreq`` is the rate to design the filters at."""

    info: StreamInfo
    measured_sfreq: float | None = None


@dataclass(frozen=True)
class Segment:
    """Unbroken samples follow. ``start_s``: seconds since the session's first sample."""

    start_s: float
    why: str


@dataclass(frozen=True, eq=False)
class Data:
    """``lag_s`` is how far the pull was behind the newest stamp; ``live`` is False for backlog."""

    chunk: Chunk
    lag_s: float = 0.0
    live: bool = True


@dataclass(frozen=True)
class Lost:
    """No samples for longer than the no-data limit, or the outlet is gone."""

    why: str


@dataclass(frozen=True)
class Returned:
    """Samples flow again (a `Segment` follows); ``uid`` is the outlet's, new or old."""

    uid: str
    why: str


@dataclass(frozen=True)
class RateOff:
    """The measured rate left the accepted one by more than 1 % (or came back: ``off`` False)."""

    measured_sfreq: float
    off: bool


@dataclass(frozen=True)
class SourceNote:
    """A sentence about the stream: clock jump, backward stamps, values missing, odd spacing."""

    what: str


@dataclass(frozen=True)
class ClockOffset:
    """Measured now and then, for the recording: remote clock plus ``offset_s`` is ours.

    ``offset_s`` is None while it is unknown; ``at_s`` is the local LSL clock. Nothing is ever
    corrected with it.
    """

    offset_s: float | None
    at_s: float


@dataclass(frozen=True)
class Ended:
    """No more samples will come: a file's end, or an error that ends the session."""

    error: NudgelineError | None = None


SourceMessage = (
    Question
    | Opened
    | Segment
    | Data
    | Lost
    | Returned
    | RateOff
    | SourceNote
    | ClockOffset
    | Ended
)


class Source(Protocol):
    """Where samples come from. One thread inside; `get` may be called from one other."""

    def start(self) -> None: ...

    def get(self, timeout_s: float) -> SourceMessage | None:
        """Return the next message, or None after ``timeout_s``."""
        ...

    def answer(self, key: str, value: str) -> None:
        """Answer a `Question`; raises ConfigError when the value is not accepted."""
        ...

    def stop(self) -> None:
        """End the thread and close the inlet; returns when both are gone."""
        ...
