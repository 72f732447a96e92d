"""Proof that a recording's points follow from its samples and its inputs.

The recording is fed to a new pipeline, and what comes out is held against what was logged:
filters, every tick, every event, the points to the sample. Samples of channels that nothing is
derived from bear on no point, so that a change in them is not seen here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Chunk
from engine.errors import ConfigError
from engine.events import EstimatorChosen, Output, PointEarned, Reason, State, Tick, to_record
from engine.pipeline import Pipeline
from engine.session.description import filters_of
from engine.session.recording_reader import RecordedSession
from engine.session.shelf import CLOSED_LATER

TOLERANCE = 1e-9
"""Filters and amplitudes may differ by this share of the largest, as processors add differently."""

Taps = Mapping[str, NDArray[np.generic]]


@dataclass(frozen=True)
class Difference:
    """The first thing that came out otherwise: when, what was logged, what came."""

    time_s: float
    what: str
    logged: str
    came: str


@dataclass(frozen=True)
class Proof:
    """What a replay came to.

    Attributes
    ----------
    difference : the first one; None when the recording is proved.
    n_points, n_ticks, n_filters : found equal before it.
    seconds : of samples fed again. largest_uv : largest deviation of an amplitude.
    cut_off : the session was; it is proved on what is there.
    """

    difference: Difference | None
    n_points: int
    n_ticks: int
    n_filters: int
    seconds: float
    largest_uv: float
    cut_off: bool

    @property
    def proved(self) -> bool:
        return self.difference is None


def verify(session: RecordedSession) -> Proof:
    """Feed a recording again and compare; RecordError when it cannot be read."""
    replay = _Replay(session)
    difference = replay.run()
    return Proof(
        difference=difference,
        n_points=replay.n_points,
        n_ticks=replay.n_ticks,
        n_filters=replay.n_filters,
        seconds=replay.pipeline.sample / session.info.sfreq,
        largest_uv=replay.largest_uv,
        cut_off=replay.cut_off,
    )


@dataclass(frozen=True)
class _LoggedTick:
    tick: int
    sample: int
    fast_uv: NDArray[np.float64]
    state: State
    reasons: tuple[Reason, ...]


@dataclass
class _Replay:
    session: RecordedSession
    n_points: int = 0
    n_ticks: int = 0
    n_filters: int = 0
    largest_uv: float = 0.0
    pipeline: Pipeline = field(init=False)
    _top_uv: float = 0.0

    def __post_init__(self) -> None:
        session = self.session
        self.pipeline = Pipeline(session.protocol, session.info.ch_names, session.info.sfreq)
        self.cut_off = session.ended in ("", CLOSED_LATER)
        self._ticks = _ticks(session)
        self._outputs: Iterator[Output] = (e for e in session.events() if isinstance(e, Output))
        self._taps: dict[str, NDArray[np.generic]] = session.taps()
        # A commit can end between a chunk and what came of it; nothing earlier may be missing.
        sizes = [chunk.n_samples for chunk in session.chunks()]
        self._last_chunk = sum(sizes[:-1]) if self.cut_off else session.n_samples

    def run(self) -> Difference | None:
        """Feed everything; stop at the first difference."""
        difference = self._filters(0.0, "")
        items = self.session.inputs()
        while difference is None and (item := next(items, None)) is not None:
            if isinstance(item, Chunk):
                difference = self._fed(item)
                continue
            try:
                self.pipeline.apply(item)
            except ConfigError as error:
                logged = _said(item)
                difference = Difference(self.pipeline.time_s, "an input", logged, str(error))
        return difference or self._left_over()

    def _fed(self, chunk: Chunk) -> Difference | None:
        for output in self.pipeline.feed(chunk):
            found = self._tick(output) if isinstance(output, Tick) else self._event(output)
            if found is not None:
                return found
        return None

    def _tick(self, came: Tick) -> Difference | None:
        logged = next(self._ticks, None)
        where = f"tick {came.tick}"
        if logged is None:
            if came.sample >= self._last_chunk:
                return None
            return Difference(came.time_s, where, "nothing", f"a tick in {came.state.value}")
        if (logged.tick, logged.sample) != (came.tick, came.sample):
            return Difference(
                came.time_s,
                where,
                f"tick {logged.tick} at sample {logged.sample}",
                f"tick {came.tick} at sample {came.sample}",
            )
        difference = self._amplitudes(logged.fast_uv, came)
        if difference is not None:
            return difference
        if (logged.state, logged.reasons) != (came.state, came.reasons):
            return Difference(
                came.time_s,
                f"the state at {where}",
                _state(logged.state, logged.reasons),
                _state(came.state, came.reasons),
            )
        self.n_ticks += 1
        return None

    def _amplitudes(self, logged: NDArray[np.float64], came: Tick) -> Difference | None:
        fast = np.array(came.fast_uv)
        if logged.shape == fast.shape:
            self._top_uv = max(self._top_uv, float(np.abs(fast).max(initial=0.0)))
            off = float(np.abs(logged - fast).max(initial=0.0))
            if off <= TOLERANCE * self._top_uv:
                self.largest_uv = max(self.largest_uv, off)
                return None
        return Difference(
            came.time_s,
            f"the amplitudes at tick {came.tick}",
            " ".join(f"{value:.9g}" for value in logged) + " µV",
            " ".join(f"{value:.9g}" for value in fast) + " µV",
        )

    def _event(self, came: Output) -> Difference | None:
        logged = next(self._outputs, None)
        if logged is None and came.sample >= self._last_chunk:
            return None
        if logged != came:
            return Difference(came.onset_s, _name(came), _said(logged), _said(came))
        if isinstance(came, PointEarned):
            self.n_points += 1
        elif isinstance(came, EstimatorChosen):
            return self._filters(came.onset_s, f" from tick {came.tick}")
        return None

    def _filters(self, time_s: float, suffix: str) -> Difference | None:
        """Compare the filters in force with those logged under this suffix."""
        for name, taps in filters_of(self.pipeline.plan).items():
            if suffix and not name.startswith("estimator"):
                continue
            key = name + suffix
            logged = self._taps.pop(key, None)
            if logged is None and self.cut_off and not self.session.n_samples:
                continue
            if logged is None or not _equal(logged, taps):
                what = "nothing" if logged is None else "other taps"
                return Difference(time_s, f"the filter {key}", what, "the taps that follow")
            self.n_filters += 1
        return None

    def _left_over(self) -> Difference | None:
        """Return what was logged and did not come."""
        time_s = self.pipeline.time_s
        tick, event = next(self._ticks, None), next(self._outputs, None)
        if event is not None:
            return Difference(event.onset_s, _name(event), _said(event), "nothing")
        if tick is not None:
            return Difference(time_s, f"tick {tick.tick}", "a tick", "nothing")
        if self._taps and not self.cut_off:  # a commit can end between filters and their event
            return Difference(time_s, f"the filter {next(iter(self._taps))}", "taps", "nothing")
        return None


def _ticks(session: RecordedSession) -> Iterator[_LoggedTick]:
    for row in session.ticks():
        logged = zip(row.samples.tolist(), row.fast_uv, row.states, row.reasons, strict=True)
        for place, (sample, fast_uv, state, reasons) in enumerate(logged):
            yield _LoggedTick(row.first_tick + place, sample, fast_uv, state, reasons)


def _equal(logged: NDArray[np.generic], taps: NDArray[np.generic]) -> bool:
    if logged.shape != taps.shape:
        return False
    off, top = np.abs(logged - taps), np.abs(taps)  # type: ignore[operator]
    return bool(off.max(initial=0.0) <= TOLERANCE * top.max(initial=0.0))


def _name(event: Output) -> str:
    if isinstance(event, PointEarned):
        return f"point {event.number}"
    names = {
        "StateChanged": "a change of state",
        "SettingChanged": "a nudge taking effect",
        "LimitChanged": "a limit taking effect",
    }
    return names.get(type(event).__name__, "the choice of filters")


def _said(event: Any) -> str:
    """Return an event as it is logged, in words."""
    if event is None:
        return "nothing"
    if isinstance(event, PointEarned):
        return (
            f"point {event.number} at {event.onset_s:.3f} s "
            f"(tick {event.tick}, sample {event.sample})"
        )
    values = to_record(event)
    kind = values.pop("kind")
    return f"{kind} {', '.join(f'{key} {value}' for key, value in values.items())}"


def _state(state: State, reasons: tuple[Reason, ...]) -> str:
    why = ", ".join(reason.value for reason in reasons)
    return f"{state.value} ({why})" if why else state.value
