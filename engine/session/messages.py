"""What the host and its windows say to each other over their pipes.

The desk hears everything and may ask for changes; the client display only listens, and what it
hears holds no raw EEG, no microvolts and no identity. Events of `engine.events` travel as they
are, each exactly once; `Batch`, `Status` and `ClientFrame` are pictures of the moment: a window
that falls behind gets the newest (batches are joined, never dropped unsaid).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from engine.chunk import Floats, StreamInfo
from engine.clinic import ContactLimits
from engine.events import Event, Reason, State, Tick
from engine.lookback.course import Course
from engine.lookback.review import Piece
from engine.practice.check import CheckProposal
from engine.practice.signal_contact import SignalView
from engine.protocol import Protocol
from engine.reward.baseline import Start
from engine.session.foresight import Foresight
from engine.session.impedances import ImpedanceView
from engine.session.shelf import Shelved
from engine.session.stretches import StretchResult, StretchView
from engine.settings import Settings
from engine.stream.messages import Question

# ---- host to desk -------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class BandResponse:
    """What one condition's filter lets through, for its picture: ``gain`` at ``freqs_hz``, (n,).

    A gain of 1 is what a sine at the band's centre reads; averaging is left out.
    """

    label: str
    low_hz: float
    high_hz: float
    freqs_hz: Floats
    gain: Floats


@dataclass(frozen=True)
class Hello:
    """The first message to a desk, and again after the stream or a window came back.

    ``delay_s`` is the least total from sensor to scene before the hold; ``delays`` names its
    parts. ``responses`` holds the picture of every condition's filter, in their order;
    ``contact`` the clinic's limits of a sensor's contact.
    """

    title: str
    protocol: Protocol
    settings: Settings
    info: StreamInfo
    delay_s: float
    delays: tuple[tuple[str, float], ...]
    tick_s: float
    trace_sfreq: float
    signals: tuple[str, ...]
    recording: str
    client: ClientControl
    demo: bool = False
    responses: tuple[BandResponse, ...] = ()
    contact: ContactLimits = field(default_factory=ContactLimits)


@dataclass(frozen=True, eq=False)
class Batch:
    """Ticks since the last batch, and the trace: (n_samples, n_signals), µV, high-passed."""

    ticks: tuple[Tick, ...]
    trace_uv: Floats = field(default_factory=lambda: np.empty((0, 1)))
    trace_end_s: float = 0.0
    lost_samples: int = 0

    def joined(self, later: Batch) -> Batch:
        """Return one batch for both, for a window that has not read the first yet."""
        trace = later.trace_uv
        if self.trace_uv.shape[0] and self.trace_uv.shape[1] == trace.shape[1]:
            trace = np.concatenate([self.trace_uv, trace])
        return Batch(
            self.ticks + later.ticks,
            trace,
            later.trace_end_s,
            self.lost_samples + later.lost_samples,
        )


@dataclass(frozen=True)
class RateView:
    """Points a minute of clear time; ``per_minute`` is None while nothing can be said."""

    per_minute: float | None
    points: int
    clear_s: float
    young: bool


@dataclass(frozen=True)
class Status:
    """Everything on the desk that is a number of the moment.

    ``phase`` is one of ``ready``, ``training``, ``rest``, ``ended``; ``holds_off`` names why no
    point can be earned now. ``met_share`` and ``mean_uv`` speak of the last clear minute.
    ``rate_history`` holds (time_s, points a minute) once a second of training.
    """

    time_s: float
    phase: str
    state: State
    reasons: tuple[Reason, ...]
    settings: Settings
    points: int
    rate: RateView
    rate_since_change: RateView
    ceiling: float
    rate_history: tuple[tuple[float, float], ...]
    mean_uv: tuple[float, ...]
    met_share: tuple[float, ...]
    clear_share: float
    round_number: int
    round_elapsed_s: float
    round_length_s: float
    phase_left_s: float
    holds_off: tuple[str, ...]
    stream_ok: bool
    stream_line: str
    measured_sfreq: float | None
    lag_s: float
    lost_samples: int
    saved_s: float
    recording_ok: bool
    recording_line: str
    muscle_seen: bool | None
    client_shown: bool
    client: ClientControl
    stretch: StretchView | None = None
    results: tuple[StretchResult, ...] = ()
    contact: SignalView | None = None
    impedances: ImpedanceView | None = None
    check: CheckProposal | None = None
    last_round: Piece | None = None


@dataclass(frozen=True)
class Reception:
    """The first message to every desk: whom it may receive, and where it finds and keeps them.

    Attributes
    ----------
    protocols : what can be trained.
    records : the database of clients; ``passphrase`` opens it and the recordings, empty where
        nothing is encrypted or it is not known yet.
    waiting : no stream is opened before `AskBegin`.
    visit : what is written down of the visit that runs; empty before.
    cut_off : recordings whose session was cut off, newest last.
    """

    protocols: tuple[Protocol, ...] = ()
    records: str = ""
    passphrase: str = field(default="", repr=False)
    waiting: bool = False
    visit: dict[str, Any] = field(default_factory=dict)
    cut_off: tuple[Shelved, ...] = ()
    demo: bool = False


@dataclass(frozen=True)
class Remark:
    """One sentence for the desk's status line: an error or a warning."""

    text: str
    grave: bool = False


# ---- what both windows know ----------------------------------------------------------------


@dataclass(frozen=True)
class ClientControl:
    """What the operator decides about the client's window."""

    scene: str = "shore"
    closeness: bool = True
    tone: bool = False
    volume: float = 0.4
    muted: bool = False
    screen: int = -1
    full_screen: bool = False


# ---- host to client display -----------------------------------------------------------------


@dataclass(frozen=True)
class ClientFrame:
    """All that a client display ever learns.

    ``progress`` of the hold decays slowly when a hold breaks; ``closeness`` of the conditions,
    both 0-1; ``clear`` is False while the signal is hidden. ``phase`` is one of
    `engine.stream.phases.PHASES`; ``prompt``, one of `PROMPTS` there, names what the client is
    asked to do now.
    """

    progress: float
    closeness: float
    clear: bool
    points: int
    phase: str
    prompt: str = ""


@dataclass(frozen=True)
class Goodbye:
    """The session is over: close the window."""


ToDesk = (
    Reception
    | Hello
    | Batch
    | Status
    | Foresight
    | Start
    | Course
    | Question
    | Remark
    | Goodbye
    | Event
)
ToClient = ClientFrame | ClientControl | Goodbye
