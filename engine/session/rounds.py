"""Rounds and rests: pure, counted in samples.

A round runs for its length, a rest follows, and the next round begins by itself; the operator may
start, rest or stop at any moment. Time without samples does not count.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from engine.events import RoundStart, RoundStop
from engine.protocol import Rounds

Turn = tuple["RoundsState", list[RoundStart | RoundStop]]


@dataclass(frozen=True)
class RoundsState:
    """``phase`` as in `messages.Status`, since sample ``since``, until ``until`` (None: open)."""

    phase: str = "ready"
    number: int = 0
    since: int = 0
    until: int | None = None


@dataclass(frozen=True)
class RoundsPlan:
    """The protocol's rounds in samples."""

    count: int
    n_length: int
    n_rest: int

    @classmethod
    def of(cls, rounds: Rounds, sfreq: float) -> RoundsPlan:
        return cls(rounds.count, round(rounds.length_s * sfreq), round(rounds.rest_s * sfreq))

    def start(self, state: RoundsState, sample: int) -> Turn:
        """Begin the next round; while one runs, nothing changes."""
        if state.phase == "training":
            return state, []
        number = state.number + 1
        begun = RoundsState("training", number, sample, sample + self.n_length)
        return begun, [RoundStart(sample, number)]

    def rest(self, state: RoundsState, sample: int, why: str = "rest") -> Turn:
        """End the round that runs and rest; without a rest in the protocol it has no end."""
        if state.phase != "training":
            return state, []
        until = sample + self.n_rest if self.n_rest else None
        resting = replace(state, phase="rest", since=sample, until=until)
        return resting, [RoundStop(sample, why)]

    def stop(self, state: RoundsState, sample: int, why: str = "operator") -> Turn:
        """End the round or the rest; the next round waits for the operator."""
        stops = [RoundStop(sample, why)] if state.phase == "training" else []
        if state.phase == "ended":
            return state, []
        return replace(state, phase="ready", since=sample, until=None), list(stops)

    def end(self, state: RoundsState, sample: int, why: str) -> Turn:
        """End the training: nothing begins by itself any more."""
        stops = [RoundStop(sample, why)] if state.phase == "training" else []
        return replace(state, phase="ended", since=sample, until=None), list(stops)

    def turn(self, state: RoundsState, sample: int) -> Turn:
        """Go on to what follows when a round or a rest has reached its end."""
        if state.until is None or sample < state.until:
            return state, []
        if state.phase == "rest":
            return self.start(state, sample)
        if state.number >= self.count:
            return self.end(state, sample, "length")
        resting, stops = self.rest(state, sample, "length")
        if self.n_rest:
            return resting, stops
        begun, starts = self.start(resting, sample)
        return begun, [*stops, *starts]
