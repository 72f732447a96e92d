"""What the operator asks of a session, done one by one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path

from engine.errors import ConfigError, RecordError
from engine.session.asks import (
    Ask,
    AskAnswer,
    AskBegin,
    AskClient,
    AskClose,
    AskContact,
    AskEntry,
    AskLimit,
    AskLookBack,
    AskMap,
    AskMark,
    AskNote,
    AskNudge,
    AskQuit,
    AskRound,
    AskStart,
    AskStretch,
    AskUndo,
)
from engine.session.audience import Audience
from engine.session.live import LiveSession
from engine.session.parts import Parts
from engine.session.shelf import close_cut_off

CLOSED = "the operator closed the session"
NEXT_CLIENT = "the next client"
"""How a session ends by the operator's hand."""


class Operator:
    """Does what the desk asks; ``answer`` takes the answers to the source's questions."""

    def __init__(
        self,
        audience: Audience,
        parts: Parts,
        answer: Callable[[str, str], None],
        clock: Callable[[], float],
    ):
        self._audience = audience
        self._parts = parts
        self._answer = answer
        self._clock = clock

    def asked(self, ask: Ask) -> str:
        """Do it; return how the session ends by it, empty where it goes on.

        What cannot be done becomes a remark, and a question is put again.
        """
        try:
            return self._do(ask)
        except (ConfigError, RecordError) as error:
            self._audience.remark(str(error))
            if isinstance(ask, AskAnswer) and ask.key in self._audience.questions:
                self._audience.ask(self._audience.questions[ask.key])
            return ""

    def _do(self, ask: Ask) -> str:
        audience, live = self._audience, self._parts.live
        if isinstance(ask, AskQuit):
            return NEXT_CLIENT if ask.next_client else CLOSED
        if isinstance(ask, AskAnswer):
            self._answer(ask.key, ask.value)
            audience.questions.pop(ask.key, None)
        elif isinstance(ask, AskClient):
            audience.change_client(ask.control)
            if live is not None:
                live.recording.meta("client", asdict(ask.control))
        elif isinstance(ask, AskBegin):
            self._parts.begin(ask, self._clock())
        elif isinstance(ask, AskEntry):
            self._parts.entry(ask.topic, ask.values)
        elif isinstance(ask, AskContact):
            self._parts.watch_contact(ask.watched)
        elif isinstance(ask, AskClose):
            close_cut_off(Path(ask.path), self._parts.passphrase)
            rest = (c for c in audience.reception.cut_off if str(c.path) != ask.path)
            audience.receive(cut_off=tuple(rest))
        elif live is not None:  # Ready and Heartbeat say nothing here; the rest needs a stream
            self._do_live(live, ask)
        audience.tell_status()
        return ""

    def _do_live(self, live: LiveSession, ask: Ask) -> None:
        audience = self._audience
        if isinstance(ask, AskNudge):
            live.nudge(ask)
        elif isinstance(ask, AskUndo):
            live.undo()
        elif isinstance(ask, AskMap):
            audience.map(ask.across, ask.up)
        elif isinstance(ask, AskRound):
            live.round(ask)
        elif isinstance(ask, AskNote):
            live.note(ask.text)
        elif isinstance(ask, AskMark):
            live.mark(ask.what)
        elif isinstance(ask, AskStretch):
            live.stretch(ask.what, ask.seconds)
        elif isinstance(ask, AskLimit):
            live.limit(ask.key, ask.value, ask.how)
        elif isinstance(ask, AskStart):
            audience.tell(live.preparation.starting(ask.target_rate, ask.shares))
        elif isinstance(ask, AskLookBack):
            audience.tell(live.course.course())
