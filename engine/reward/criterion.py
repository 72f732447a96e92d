"""The criterion: when a point is earned. One table, and nothing else, moves its state.

A tick brings one `Sign`: the strongest of what is true of it. The table says, for the state of
the tick before and the sign, which state the tick has and what happens to the hold. The hold
counts unbroken met ticks; the point falls on the N-th, then exactly M ticks are quiet (they run
on through hidden ones), then the hold starts from zero.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from engine.events import State
from engine.settings import Settings
from engine.signal.grid import Grid


class Sign(Enum):
    """What a tick brings, strongest first."""

    OFF = "no round, or a hold-off"
    HIDDEN = "the signal is obscured"
    RESTING = "quiet time runs"
    MET = "every condition is satisfied"
    UNMET = "some condition is not"


class Hold(Enum):
    """What happens to the hold at a tick."""

    NONE = "stays at zero"
    BEGIN = "counts its first tick"
    COUNT = "counts one more"
    BREAK = "returns to zero"


TABLE: dict[tuple[State, Sign], tuple[State, Hold]] = {
    (State.STOPPED, Sign.OFF): (State.STOPPED, Hold.NONE),
    (State.STOPPED, Sign.HIDDEN): (State.OBSCURED, Hold.NONE),
    (State.STOPPED, Sign.MET): (State.HOLDING, Hold.BEGIN),
    (State.STOPPED, Sign.UNMET): (State.WAITING, Hold.NONE),
    (State.WAITING, Sign.OFF): (State.STOPPED, Hold.NONE),
    (State.WAITING, Sign.HIDDEN): (State.OBSCURED, Hold.NONE),
    (State.WAITING, Sign.MET): (State.HOLDING, Hold.BEGIN),
    (State.WAITING, Sign.UNMET): (State.WAITING, Hold.NONE),
    (State.HOLDING, Sign.OFF): (State.STOPPED, Hold.BREAK),
    (State.HOLDING, Sign.HIDDEN): (State.OBSCURED, Hold.BREAK),
    (State.HOLDING, Sign.RESTING): (State.QUIET, Hold.NONE),
    (State.HOLDING, Sign.MET): (State.HOLDING, Hold.COUNT),
    (State.HOLDING, Sign.UNMET): (State.WAITING, Hold.BREAK),
    (State.QUIET, Sign.OFF): (State.STOPPED, Hold.NONE),
    (State.QUIET, Sign.HIDDEN): (State.OBSCURED, Hold.NONE),
    (State.QUIET, Sign.RESTING): (State.QUIET, Hold.NONE),
    (State.QUIET, Sign.MET): (State.HOLDING, Hold.BEGIN),
    (State.QUIET, Sign.UNMET): (State.WAITING, Hold.NONE),
    (State.OBSCURED, Sign.OFF): (State.STOPPED, Hold.NONE),
    (State.OBSCURED, Sign.HIDDEN): (State.OBSCURED, Hold.NONE),
    (State.OBSCURED, Sign.RESTING): (State.QUIET, Hold.NONE),
    (State.OBSCURED, Sign.MET): (State.HOLDING, Hold.BEGIN),
    (State.OBSCURED, Sign.UNMET): (State.WAITING, Hold.NONE),
}
"""Every transition there is. Quiet time cannot follow a wait or a stop: those pairs are absent."""


@dataclass(frozen=True)
class Times:
    """Hold and quiet time in ticks, as a hold takes them when it begins."""

    n_hold: int
    n_quiet: int

    @classmethod
    def of(cls, settings: Settings, grid: Grid) -> Times:
        """Return the times of settings on a grid of ticks."""
        return cls(grid.hold_ticks(settings.hold_s), grid.ticks(settings.quiet_s))


@dataclass(frozen=True)
class CriterionState:
    """``held`` unbroken met ticks so far; ``quiet_left`` ticks of quiet time still to come."""

    state: State = State.STOPPED
    held: int = 0
    quiet_left: int = 0


@dataclass(frozen=True)
class Verdict:
    """What one tick came to. ``progress`` is the share of the hold reached, 0-1."""

    state: State
    point: bool
    progress: float


def sign_of(before: CriterionState, running: bool, obscured: bool, met: bool) -> Sign:
    """Return the sign of a tick; what stands first in `Sign` wins."""
    if not running:
        return Sign.OFF
    if obscured:
        return Sign.HIDDEN
    if before.quiet_left > 0:
        return Sign.RESTING
    return Sign.MET if met else Sign.UNMET


def step(
    before: CriterionState, times: Times, *, running: bool, obscured: bool, met: bool
) -> tuple[CriterionState, Verdict]:
    """Take one tick. ``times`` must be those that the present hold began with.

    ``met`` counts at the threshold: an amplitude equal to it satisfies either direction.
    """
    state, hold = TABLE[before.state, sign_of(before, running, obscured, met)]
    held = {Hold.BEGIN: 1, Hold.COUNT: before.held + 1}.get(hold, 0)
    quiet_left = max(0, before.quiet_left - 1) if running else 0
    progress = min(1.0, held / times.n_hold)
    point = held >= times.n_hold
    if point:
        held, quiet_left = 0, times.n_quiet
    return CriterionState(state, held, quiet_left), Verdict(state, point, progress)


def closeness(
    amplitudes_uv: tuple[float, ...], thresholds_uv: tuple[float, ...], above: tuple[bool, ...]
) -> float:
    """Return how near the conditions are to being met, 0-1: 1 when every one is.

    Each condition counts from 0, at half of what it needs, to 1; the least of them is the answer,
    for the least is what still has to be done.
    """
    nearest = 1.0
    for amplitude, threshold, is_above in zip(amplitudes_uv, thresholds_uv, above, strict=True):
        part, whole = (amplitude, threshold) if is_above else (threshold, amplitude)
        ratio = part / whole if whole > 0 else 1.0
        nearest = min(nearest, max(0.0, 2 * ratio - 1)) if math.isfinite(ratio) else 0.0
    return nearest
