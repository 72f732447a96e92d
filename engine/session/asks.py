"""What the desk asks of its host."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from engine.session.messages import ClientControl


@dataclass(frozen=True)
class Ready:
    """The window is drawn and listening."""


@dataclass(frozen=True)
class Heartbeat:
    frames_per_second: float


@dataclass(frozen=True)
class AskNudge:
    """Change a setting: by whole steps of the protocol, or to ``value`` (a line let go)."""

    key: str
    how: str
    steps: int = 0
    value: float | None = None


@dataclass(frozen=True)
class AskUndo:
    """Take the last nudge back."""


@dataclass(frozen=True)
class AskMap:
    """Draw the map over the thresholds of these two bands."""

    across: str
    up: str


@dataclass(frozen=True)
class AskRound:
    """``what`` is one of ``start``, ``rest``, ``stop`` (stop ends the round at once)."""

    what: str


@dataclass(frozen=True)
class AskNote:
    text: str


@dataclass(frozen=True)
class AskAnswer:
    key: str
    value: str


@dataclass(frozen=True)
class AskClient:
    control: ClientControl


@dataclass(frozen=True)
class AskBegin:
    """Begin a visit, or go on with it at another site or protocol: its own recording begins.

    ``visit`` is what is written down of it; ``site`` empty: the protocol's own. ``go_on_from``
    names the recording, cut off by a crash, that this one goes on from.
    """

    protocol: str
    site: str = ""
    visit: dict[str, Any] = field(default_factory=dict)
    passphrase: str = field(default="", repr=False)
    go_on_from: str = ""


@dataclass(frozen=True)
class AskClose:
    """Close a recording whose session was cut off; it is not gone on with."""

    path: str


@dataclass(frozen=True)
class AskEntry:
    """Write down something under one of `engine.events.TOPICS`."""

    topic: str
    values: dict[str, Any]


@dataclass(frozen=True)
class AskMark:
    """Mark this moment: ``adverse`` stops the reward at once, ``drowsy`` does not."""

    what: str


@dataclass(frozen=True)
class AskStretch:
    """Begin one of `engine.events.STRETCHES`, seconds long; ``what`` empty: stop what runs."""

    what: str
    seconds: float = 0.0


@dataclass(frozen=True)
class AskContact:
    """Judge the sensors' contact by the signal, as long as ``watched``."""

    watched: bool


@dataclass(frozen=True)
class AskStart:
    """Find starting thresholds in the baseline, for points a minute or for shares of time."""

    target_rate: float | None = None
    shares: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class AskLimit:
    """Set a limit of clearness, microvolts."""

    key: str
    value: float
    how: str = "check"


@dataclass(frozen=True)
class AskLookBack:
    """Send the course of the session so far."""


@dataclass(frozen=True)
class AskQuit:
    """Close the session: recording closed, windows closed, no process left.

    With ``next_client`` the desk opens again, for whoever comes.
    """

    next_client: bool = False


Ask = (
    Ready
    | Heartbeat
    | AskNudge
    | AskUndo
    | AskMap
    | AskRound
    | AskNote
    | AskAnswer
    | AskClient
    | AskBegin
    | AskClose
    | AskEntry
    | AskMark
    | AskStretch
    | AskContact
    | AskStart
    | AskLimit
    | AskLookBack
    | AskQuit
)
