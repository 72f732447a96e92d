"""A session from its first sample on: what comes in goes to the pipeline and the recording alike.

Everything that the pipeline is fed passes `_apply` or `_feed`, and nothing else reaches either:
so the recording, fed again, gives the same points. No clock, window or stream is known here.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from engine.chunk import Chunk
from engine.clinic import ContactLimits
from engine.errors import ConfigError, bad_value
from engine.events import (
    TOPICS,
    Entry,
    EstimatorChosen,
    Event,
    HoldOff,
    HoldOffEnd,
    Input,
    LimitSet,
    Note,
    Nudge,
    PointEarned,
    RoundStop,
    SegmentStart,
    SessionEvent,
    StretchStop,
    Tick,
)
from engine.lookback.keeper import CourseKeeper
from engine.lookback.review import Piece, review
from engine.pipeline import Pipeline
from engine.protocol import Protocol, Rounds
from engine.reward.rate import RateMeter
from engine.reward.recent import Recent
from engine.scoring import Tally, summary
from engine.session.asks import AskNudge, AskRound
from engine.session.description import filters_of
from engine.session.preparation import Preparation
from engine.session.recording import Recording
from engine.session.rounds import RoundsPlan, RoundsState, Turn
from engine.session.split import split
from engine.stream.ohms import OhmChannels

Hear = Callable[[Tick | Event], None]


class LiveSession:
    """Pipeline, recording and rounds of one stream.

    ``hear`` gets every tick and every event, in order, at the moment it happens.
    """

    def __init__(
        self,
        protocol: Protocol,
        pipeline: Pipeline,
        recording: Recording,
        hear: Hear,
        *,
        rounds: Rounds | None = None,
        by: str = "operator",
        began_utc: datetime | None = None,
        contact: ContactLimits | None = None,
        beside: OhmChannels | None = None,
    ):
        self.protocol = protocol
        self.pipeline = pipeline
        self.recording = recording
        self.meter = RateMeter(pipeline.plan.tick_s, len(protocol.conditions))
        self.recent = Recent(pipeline.plan.tick_s, len(protocol.conditions))
        self.course = CourseKeeper(
            protocol, pipeline.plan.sfreq, id=recording.stem, began_utc=began_utc
        )
        self.preparation = Preparation(protocol, pipeline, contact, beside)
        self.points: list[PointEarned] = []
        self.entries: list[Entry] = []
        self.last_round: Piece | None = None
        self.tally = Tally(len(protocol.conditions))
        self.last_tick: Tick | None = None
        self.holds_off: dict[str, str] = {}
        self.lost_samples = 0
        self._hear = hear
        self._undo: list[tuple[str, float]] = []
        self._by = by
        self._plan = RoundsPlan.of(rounds or protocol.rounds, pipeline.plan.sfreq)
        self.rounds = RoundsState()

    def summary(self) -> dict[str, Any]:
        """Return what the session came to, as `engine.scoring.summary` says it."""
        return summary(self.pipeline, self.tally, self.pipeline.time_s)

    # ---- samples ----------------------------------------------------------------------------

    def segment(self, start_s: float, why: str) -> None:
        """Begin a segment; what is missing since the last one counts as lost."""
        if self.pipeline.sample:
            gap_s = start_s - self.pipeline.time_s
            self.lost_samples += max(0, round(gap_s * self.pipeline.plan.sfreq))
        self.preparation.restart()
        self._apply(SegmentStart(self.pipeline.sample, start_s, why))

    def data(self, chunk: Chunk) -> list[Tick]:
        """Take samples; a round or a rest ends at its very sample. Return the ticks."""
        ticks: list[Tick] = []
        while chunk.n_samples:
            n = chunk.n_samples
            if self.rounds.until is not None:
                n = min(n, self.rounds.until - self.pipeline.sample)
            piece, chunk = split(chunk, n)
            ticks += self._feed(piece)
            self._turn(self._plan.turn(self.rounds, self.pipeline.sample))
        return ticks

    def _feed(self, chunk: Chunk) -> list[Tick]:
        self.recording.samples(self.pipeline.sample, chunk)
        self.preparation.feed(chunk)
        ticks = []
        for output in self.pipeline.feed(chunk):
            self.meter.add(output)
            self.tally.add(output)
            self.recent.add(output)
            if isinstance(output, Tick):
                ticks.append(output)
                self.last_tick = output
                self.recording.ticks(output)
            else:
                if isinstance(output, PointEarned):
                    self.points.append(output)
                elif isinstance(output, EstimatorChosen):
                    self._record_filters(output)
                self.recording.event(output)
            self.course.hear(output)
            self._hear(output)
        for stop in self.preparation.hear(ticks):
            self._stretch_over(stop)
        return ticks

    def _record_filters(self, chosen: EstimatorChosen) -> None:
        """Keep the filters of a round that begins with other ones, under the tick they came at."""
        for name, taps in filters_of(self.pipeline.plan).items():
            if name.startswith("estimator"):
                self.recording.taps(f"{name} from tick {chosen.tick}", taps)

    # ---- what is done -------------------------------------------------------------------------

    def _apply(self, event: Input) -> None:
        self.pipeline.apply(event)
        self.log(event)

    def log(self, event: Input | SessionEvent) -> None:
        """Record and tell what happened beside the pipeline."""
        self.recording.event(event)
        if isinstance(event, Entry):
            self.entries.append(event)
        self.course.hear(event)
        self._hear(event)

    def note(self, text: str) -> None:
        """Note a line of the operator's, at this moment."""
        self.log(Note(self.pipeline.sample, self.pipeline.time_s, text, self._by))

    def describe(self, by: str) -> None:
        """Name the operator from here on."""
        self._by = by

    def entry(self, topic: str, values: dict[str, Any]) -> None:
        """Write down something under one of `engine.events.TOPICS`; ConfigError on another."""
        if topic not in TOPICS:
            raise bad_value("topic", topic, "one of " + ", ".join(TOPICS), "choose one of them")
        self.log(Entry(self.pipeline.sample, self.pipeline.time_s, topic, dict(values), self._by))

    def mark(self, what: str) -> None:
        """Mark this moment; an adverse effect stops the reward at once."""
        if what == "adverse":
            self._turn(self._plan.stop(self.rounds, self.pipeline.sample, "adverse effect"))
        self.entry(what, {"marked": True})

    def stretch(self, what: str, seconds: float) -> None:
        """Begin a baseline or a check, or end the one that runs with an empty ``what``.

        ConfigError while a round runs: what is measured holds no reward.
        """
        if not what:
            self._stretch_over(self.preparation.stop())
            return
        if self.rounds.phase in ("training", "rest"):
            raise ConfigError(
                f"{what.capitalize()} is asked for while a round runs or rests, but it is measured "
                "without reward; stop the round first."
            )
        for event in self.preparation.begin(what, seconds):
            if isinstance(event, StretchStop):
                self._stretch_over(event)
            else:
                self.log(event)

    def _stretch_over(self, stop: StretchStop | None) -> None:
        """Record the end of a stretch, and what it came to."""
        if stop is None:
            return
        self.log(stop)
        result = self.preparation.stretches.results[stop.what]
        topic = "baseline" if stop.what.startswith("baseline") else "check"
        values = result.values(self.protocol.settings.bands)
        self.log(Entry(stop.sample, stop.onset_s, topic, values, self._by))

    def limit(self, key: str, value: float, how: str) -> None:
        """Set a limit of clearness, microvolts; ConfigError when it is out of range."""
        self._apply(LimitSet(self.pipeline.sample, key, value, self._by, how))
        self.preparation.set_limits()

    def nudge(self, ask: AskNudge) -> None:
        """Change a setting; raises ConfigError, and changes nothing, when it is out of range."""
        settings = self.pipeline.settings
        before = settings.value(ask.key)
        step = self.protocol.step(ask.key)
        wanted = ask.value if ask.value is not None else before + ask.steps * step
        value = round(wanted, 6)
        settings.changed(ask.key, value)
        if value != before:
            self._undo.append((ask.key, before))
            self._apply(Nudge(self.pipeline.sample, ask.key, value, self._by, ask.how))

    def undo(self) -> None:
        """Take the last nudge back; raises ConfigError when there is none."""
        if not self._undo:
            raise ConfigError(
                "The number of nudges to take back is 0, but at least 1 is needed; "
                "nudge a setting first."
            )
        key, before = self._undo.pop()
        if self.pipeline.settings.value(key) != before:
            self._apply(Nudge(self.pipeline.sample, key, before, self._by, "undo"))

    def round(self, ask: AskRound) -> None:
        """Start, rest or stop."""
        changes = {"start": self._plan.start, "rest": self._plan.rest, "stop": self._plan.stop}
        if ask.what not in changes:
            raise ConfigError(
                f"The round's change is {ask.what!r}, but start, rest or stop is accepted; "
                "choose one of them."
            )
        if ask.what == "start":
            self.stretch("", 0.0)
        self._turn(changes[ask.what](self.rounds, self.pipeline.sample))

    def end(self, why: str) -> None:
        """End the training."""
        self.stretch("", 0.0)
        self._turn(self._plan.end(self.rounds, self.pipeline.sample, why))

    def _turn(self, turn: Turn) -> None:
        self.rounds, inputs = turn
        for event in inputs:
            self._apply(event)
            if isinstance(event, RoundStop):
                rounds = review(self.course.course()).rounds
                self.last_round = rounds[-1] if rounds else None

    # ---- no point while ... ---------------------------------------------------------------------

    def hold_off(self, cause: str, why: str) -> None:
        """Give no point while ``cause`` stands; ``why`` is what the operator reads."""
        if cause not in self.holds_off:
            self.holds_off[cause] = why
            self._apply(HoldOff(self.pipeline.sample, why))

    def hold_off_end(self, cause: str) -> None:
        """Give points again, as far as ``cause`` goes."""
        why = self.holds_off.pop(cause, None)
        if why is not None and why not in self.holds_off.values():
            self._apply(HoldOffEnd(self.pipeline.sample, why))
