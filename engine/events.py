"""The vocabulary of a session: what goes into the pipeline and what comes out of it.

Inputs are what a recording must hold, in order, to score the session again: chunks of samples
(``engine.chunk``), segments, rounds, nudges, limits and holds-off. Outputs are what happened: a
row for every tick, and events. All are frozen; `to_record` and `from_record` turn any of them but
the tick into plain values for a recording, a pipe or a marker stream.

Positions are counted in samples fed since the session began (``sample``): an input with
``sample`` = n came after exactly n samples, and takes effect at the next tick.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from enum import Enum
from typing import Any


class State(Enum):
    """States of the criterion (the table of transitions is in ``engine.reward.criterion``)."""

    STOPPED = "stopped"
    WAITING = "waiting"
    HOLDING = "holding"
    QUIET = "quiet"
    OBSCURED = "obscured"


class Reason(Enum):
    """Why a tick is obscured, in the order in which reasons are named."""

    GAP = "gap"
    SETTLING = "settling"
    MISSING = "missing values"
    CLIPPING = "clipping"
    FLAT = "flat line"
    STEP = "pop or step"
    BLINK = "blink"
    AMPLITUDE = "large swing"
    MUSCLE = "muscle"
    GUARD = "just after"


# ---- inputs -------------------------------------------------------------------------------


@dataclass(frozen=True)
class SegmentStart:
    """Unbroken samples begin here: the session's first, or after a gap.

    ``start_s`` is the time of the segment's first sample, seconds since the session's first.
    """

    sample: int
    start_s: float
    why: str = "start"


@dataclass(frozen=True)
class RoundStart:
    sample: int
    number: int = 1


@dataclass(frozen=True)
class RoundStop:
    sample: int
    why: str = "operator"


@dataclass(frozen=True)
class HoldOff:
    """No point may be earned while ``why`` stands: a window is gone, the rate is not accepted."""

    sample: int
    why: str


@dataclass(frozen=True)
class HoldOffEnd:
    sample: int
    why: str


@dataclass(frozen=True)
class Nudge:
    """One setting changed to ``value``: ``key`` as ``--set`` takes it (``smr.threshold``)."""

    sample: int
    key: str
    value: float
    by: str = "operator"
    how: str = "key"


@dataclass(frozen=True)
class LimitSet:
    """A limit of clearness set to ``value`` µV: ``key`` is one of `engine.protocol.LIMITS`."""

    sample: int
    key: str
    value: float
    by: str = "operator"
    how: str = "check"


Input = SegmentStart | RoundStart | RoundStop | HoldOff | HoldOffEnd | Nudge | LimitSet


# ---- outputs ------------------------------------------------------------------------------


@dataclass(frozen=True)
class Tick:
    """One evaluation of the criterion.

    Attributes
    ----------
    tick : number since the session began; sample : index of the tick's last sample.
    time_s : time of that sample, seconds since the session's first sample.
    amplitudes_uv : averaged amplitude a condition, in the protocol's scale, microvolts.
    fast_uv : the same before averaging.
    met : whether each condition is satisfied at this tick.
    progress : share of the hold reached, 0-1. closeness : how near the conditions are, 0-1.
    """

    tick: int
    sample: int
    time_s: float
    amplitudes_uv: tuple[float, ...]
    fast_uv: tuple[float, ...]
    met: tuple[bool, ...]
    state: State
    reasons: tuple[Reason, ...]
    progress: float
    closeness: float


@dataclass(frozen=True)
class PointEarned:
    """``onset_s`` is the time of the tick's last sample; ``number`` counts from 1."""

    tick: int
    sample: int
    onset_s: float
    number: int


@dataclass(frozen=True)
class StateChanged:
    tick: int
    sample: int
    onset_s: float
    state: State
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class SettingChanged:
    """A nudge took effect at ``tick`` (thresholds: the next; the rest: the next hold)."""

    tick: int
    sample: int
    onset_s: float
    key: str
    old: float
    new: float
    by: str
    how: str


@dataclass(frozen=True)
class LimitChanged:
    """A limit of clearness took effect at ``tick``, microvolts."""

    tick: int
    sample: int
    onset_s: float
    key: str
    old: float
    new: float
    by: str
    how: str


@dataclass(frozen=True)
class EstimatorChosen:
    """A round begins with this estimator; ``why`` says why it is not the one asked for."""

    tick: int
    sample: int
    onset_s: float
    name: str
    why: str = ""


# ---- events of the session around the pipeline ---------------------------------------------


@dataclass(frozen=True)
class Note:
    sample: int
    onset_s: float
    text: str
    by: str = "operator"


@dataclass(frozen=True)
class SourceLost:
    sample: int
    why: str


@dataclass(frozen=True)
class SourceReturned:
    sample: int
    why: str


@dataclass(frozen=True)
class SourceRemark:
    """Something about the stream worth showing: a clock jump, odd spacing, values missing."""

    sample: int
    what: str


@dataclass(frozen=True)
class WindowLost:
    sample: int
    window: str
    why: str


@dataclass(frozen=True)
class WindowReturned:
    sample: int
    window: str


@dataclass(frozen=True)
class Entry:
    """What a page of the desk writes down: ``values`` of plain JSON types, under a ``topic``."""

    sample: int
    onset_s: float
    topic: str
    values: dict[str, Any]
    by: str = "operator"


@dataclass(frozen=True)
class StretchStart:
    """A baseline or a check begins, outside of rounds; ``what`` is one of `STRETCHES`."""

    sample: int
    onset_s: float
    what: str


@dataclass(frozen=True)
class StretchStop:
    """It ends; ``why`` is ``length`` when it is complete."""

    sample: int
    onset_s: float
    what: str
    why: str = "length"


STRETCHES = ("baseline before", "baseline after", "rest", "clench", "blink")
TOPICS = (
    "visit",
    "head",
    "contact",
    "check",
    "baseline",
    "rating",
    "adverse",
    "drowsy",
    "care",
    "plan",
)
"""What an `Entry` may be about."""

Output = PointEarned | StateChanged | SettingChanged | LimitChanged | EstimatorChosen
SessionEvent = (
    Note
    | SourceLost
    | SourceReturned
    | SourceRemark
    | WindowLost
    | WindowReturned
    | Entry
    | StretchStart
    | StretchStop
)
Event = Input | Output | SessionEvent

KINDS: dict[str, type] = {
    kind.__name__: kind
    for kind in (
        SegmentStart,
        RoundStart,
        RoundStop,
        HoldOff,
        HoldOffEnd,
        Nudge,
        LimitSet,
        PointEarned,
        StateChanged,
        SettingChanged,
        LimitChanged,
        EstimatorChosen,
        Note,
        SourceLost,
        SourceReturned,
        SourceRemark,
        WindowLost,
        WindowReturned,
        Entry,
        StretchStart,
        StretchStop,
    )
}


def to_record(event: Event) -> dict[str, Any]:
    """Turn an event into plain JSON values, its kind under ``"kind"``."""
    values: dict[str, Any] = {"kind": type(event).__name__}
    for name, value in asdict(event).items():
        if isinstance(value, Enum):
            value = value.name
        elif isinstance(value, tuple):
            value = [item.name if isinstance(item, Enum) else item for item in value]
        values[name] = value
    return values


def from_record(values: dict[str, Any]) -> Event:
    """Rebuild the event that `to_record` was given; raises KeyError on an unknown kind."""
    fields = dict(values)
    kind = KINDS[fields.pop("kind")]
    if kind is StateChanged:
        fields["state"] = State[fields["state"]]
        fields["reasons"] = tuple(Reason[name] for name in fields["reasons"])
    event: Event = kind(**fields)
    return event
