"""What follows from what the source, the windows and the operator say."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict

from engine.errors import ConfigError, NudgelineError, SourceError
from engine.events import SourceLost, SourceRemark, SourceReturned, WindowLost, WindowReturned
from engine.session.asks import Ask, AskRound
from engine.session.audience import Audience
from engine.session.children import Happening, WindowGivenUp, WindowGone, WindowReady
from engine.session.latency import LatencyMeter
from engine.session.live import LiveSession
from engine.session.operator import Operator
from engine.session.parts import Parts
from engine.session.window_process import Window
from engine.stream.messages import (
    ClockOffset,
    Data,
    Ended,
    Lost,
    Opened,
    Question,
    RateOff,
    Returned,
    Segment,
    SourceMessage,
    SourceNote,
)

LOST_FOR_GOOD_S = 30.0
"""A run that nobody watches ends when its stream has been gone for so long."""


class Conductor:
    """Takes what is said, in order; knows no queue and no loop.

    ``over`` says how the session ended, empty while it goes on; ``error`` what went wrong.
    With ``by_itself`` the rounds begin without the operator, and their end is the session's.
    """

    def __init__(
        self,
        audience: Audience,
        windows: Sequence[Window],
        parts: Parts,
        answer: Callable[[str, str], None],
        clock: Callable[[], float],
        *,
        by_itself: bool,
    ):
        self.over = ""
        self.error: NudgelineError | None = None
        self.latency = LatencyMeter()
        self.latency_from_stamp = LatencyMeter()
        self._audience = audience
        self._parts = parts
        self._operator = Operator(audience, parts, answer, clock)
        self._clock = clock
        self._by_itself = by_itself
        self._begun = False
        self._lost_at: float | None = None
        self._stood_at = 0.0
        self._gone: set[str] = set()
        self._holds_off = {
            _cause(window): f"the {window.name} is not open yet"
            for window in windows
            if window.needed
        }

    @property
    def live(self) -> LiveSession | None:
        """The session's part that runs."""
        return self._parts.live

    @property
    def chosen(self) -> bool:
        """Whether it is known what to train: a stream is opened for nothing else."""
        return self._parts.protocol is not None

    # ---- the source -----------------------------------------------------------------------------

    def source_said(self, message: SourceMessage) -> None:
        """Take one message of the source."""
        audience, stream, live = self._audience, self._audience.stream, self.live
        if isinstance(message, Question):
            if audience.desk is None:
                self.fail(_unanswered(message))
            else:
                audience.ask(message)
        elif isinstance(message, Opened):
            self._opened(message)
        elif isinstance(message, Ended):
            self._ended(message)
        elif isinstance(message, SourceNote):
            audience.remark(message.what)
            if live is not None:
                live.log(SourceRemark(live.pipeline.sample, message.what))
        elif live is None:
            return  # the stream was refused, and the operator reads why
        elif isinstance(message, Data):
            stream.lag_s = message.lag_s
            self._data(live, message)
        elif isinstance(message, Segment):
            live.segment(message.start_s - self._parts.began_s, message.why)
            self._begin_if_due()
        elif isinstance(message, Lost):
            self._lost_at = self._clock()
            stream.ok, stream.line = False, f"stream lost: {message.why}"
            live.log(SourceLost(live.pipeline.sample, message.why))
            live.hold_off("source", "the stream is lost")
        elif isinstance(message, Returned):
            self._lost_at = None
            stream.ok, stream.line = True, f"stream back: {message.why}"
            live.log(SourceReturned(live.pipeline.sample, message.why))
            live.hold_off_end("source")
            audience.say_hello()
        elif isinstance(message, ClockOffset):
            live.recording.clock_offset(message.at_s, message.offset_s)
        else:
            self._rate(live, message)

    def _opened(self, message: Opened) -> None:
        info, stream = message.info, self._audience.stream
        if self.live is not None:
            self.fail(
                SourceError(
                    f"The stream {info.name} was opened anew at {info.sfreq:g} Hz, but a session "
                    "keeps the stream it began with; end this session and start another."
                )
            )
            return
        try:
            live = self._parts.open(info)
        except NudgelineError as error:
            self.fail(error)
            return
        stream.ok, stream.measured_sfreq = True, message.measured_sfreq
        stream.line = f"{info.name}, {len(info.ch_names)} channels at {info.sfreq:g} Hz"
        live.recording.meta("client", asdict(self._audience.control))
        self._stood_at = self._clock()  # what arrived while the filters were designed is backlog
        for cause, why in self._holds_off.items():
            live.hold_off(cause, why)

    def _data(self, live: LiveSession, message: Data) -> None:
        first, chunk = live.pipeline.sample, message.chunk
        ticks = live.data(chunk)
        if message.live and chunk.arrival_s > self._stood_at and not self._holds_off:
            now = self._clock()
            for tick in ticks:
                self.latency.add(now - chunk.arrival_s)
                if chunk.stamps_s.size:
                    self.latency_from_stamp.add(now - float(chunk.stamps_s[tick.sample - first]))
        if self._by_itself and live.rounds.phase == "ended":
            self.over = "all rounds are done"

    def _rate(self, live: LiveSession, message: RateOff) -> None:
        self._audience.stream.measured_sfreq = message.measured_sfreq
        if not message.off:
            live.hold_off_end("rate")
            return
        live.hold_off("rate", "the stream's rate is not the accepted one")
        self._audience.remark(
            f"The stream runs at {message.measured_sfreq:.2f} Hz, but the filters stand at "
            f"{live.pipeline.plan.sfreq:g} Hz; no point is given until it comes back, or a new "
            "session accepts the measured rate.",
            grave=True,
        )

    def _ended(self, message: Ended) -> None:
        stream = self._audience.stream
        stream.ok, stream.line = False, "the stream has ended"
        if self.live is not None:
            self.live.end("stream ended")
        if message.error is not None:
            self.fail(message.error)
        elif self._by_itself or self._audience.desk is None:
            self.over = "the stream has ended"

    def fail(self, error: NudgelineError) -> None:
        """Keep an error for the end, which is now unless a desk shows it to somebody."""
        self.error = self.error or error
        if self._audience.desk is None:
            self.over = "an error"
        else:
            self._audience.remark(str(error), grave=True)

    def look(self) -> None:
        """See whether a run that nobody watches has lost its stream for good."""
        if self._audience.desk is not None or self._lost_at is None:
            return
        if self._clock() - self._lost_at > LOST_FOR_GOOD_S:
            self.fail(
                SourceError(
                    f"The stream has been gone for {LOST_FOR_GOOD_S:g} s "
                    f"({self._audience.stream.line}), but samples are needed; look after the "
                    "amplifier and start again."
                )
            )

    # ---- the windows ----------------------------------------------------------------------------

    def window_happened(self, happening: Happening) -> None:
        """Take what happened to a window."""
        window = happening.window
        if isinstance(happening, WindowReady):
            self._audience.window_ready(window)
            self._window_back(window)
        elif isinstance(happening, WindowGone):
            if window.two_way and happening.left:
                self.over = "the desk was closed"
                return
            self._window_gone(window, happening.why)
        else:
            self._window_given_up(window, happening)

    def _window_gone(self, window: Window, why: str) -> None:
        live = self.live
        self._gone.add(window.name)
        self._audience.remark(
            f"The {window.name} is gone ({why}); it is started again.", grave=True
        )
        if live is not None:
            live.log(WindowLost(live.pipeline.sample, window.name, why))
        if window.needed:
            self._hold_off(_cause(window), f"the {window.name} is gone")

    def _window_back(self, window: Window) -> None:
        if self.live is not None and window.name in self._gone:
            self.live.log(WindowReturned(self.live.pipeline.sample, window.name))
        self._gone.discard(window.name)
        self._hold_off_end(_cause(window))

    def _window_given_up(self, window: Window, happening: WindowGivenUp) -> None:
        live = self.live
        if live is not None:
            live.log(WindowLost(live.pipeline.sample, window.name, happening.why))
        if window.two_way:
            self._audience.without_desk()
            self._by_itself = True
        self._audience.remark(
            f"The {window.name} could not be opened ({happening.why}); the session goes on "
            f"without {'windows' if window.two_way else 'it'}, end it and look at the display.",
            grave=True,
        )
        self._hold_off_end(_cause(window))
        if self._audience.desk is None and self._audience.questions:
            self.fail(_unanswered(next(iter(self._audience.questions.values()))))

    def _hold_off(self, cause: str, why: str) -> None:
        self._holds_off[cause] = why
        if self.live is not None:
            self.live.hold_off(cause, why)

    def _hold_off_end(self, cause: str) -> None:
        self._holds_off.pop(cause, None)
        if self.live is not None:
            self.live.hold_off_end(cause)
        self._begin_if_due()

    def _begin_if_due(self) -> None:
        """Begin the first round of a run that begins by itself, once its windows are there."""
        if self._by_itself and self.live is not None and not self._begun and not self._holds_off:
            self._begun = True
            self.live.round(AskRound("start"))

    # ---- the operator ---------------------------------------------------------------------------

    def asked(self, ask: Ask) -> None:
        """Do what the desk asks; what cannot be done becomes a remark, and a question again."""
        self.over = self._operator.asked(ask) or self.over


def _cause(window: Window) -> str:
    return f"window {window.name}"


def _unanswered(question: Question) -> ConfigError:
    among = ", ".join(question.choices) or "a value"
    return ConfigError(
        f"{question.text} Nobody is there to answer, and one of {among} is accepted; "
        f"give it with --{question.key}."
    )
