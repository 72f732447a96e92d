"""The live source: an LSL stream, from finding it to the last sample, through every loss.

Concurrent activities: one thread finds the stream, owns the inlet, and may block for as long as
`WAIT_S`; a second measures the clock offset and may hang without harm; the host's thread takes
messages and gives answers. Nothing is ever dropped on the way.
"""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable, Mapping
from functools import partial

import pylsl

from engine.errors import NudgelineError, SourceError, bad_value
from engine.stream.discover import Wanted, choose, look
from engine.stream.flow import Flow, newest_stamp
from engine.stream.following import WAIT_S, Following
from engine.stream.inlet import Inlet, InletLostError
from engine.stream.memory import AmplifierMemory
from engine.stream.messages import Ended, Opened, Question, SourceMessage, SourceNote
from engine.stream.metadata import Description, describe, require_usable
from engine.stream.network import reach_of, require_configured
from engine.stream.opening import Opening, Pulled, unanswered

NO_DATA_S = 0.5
"""Without a sample for so long, the stream counts as lost."""

ANSWER_WAIT_S = 0.05
PATIENCE_S = 10.0


class StoppedError(Exception):
    """The host asked the thread to end."""


class LslSource:
    """A live stream, as `engine.stream.messages.Source`.

    Parameters
    ----------
    wanted : which stream. Its name, type or source_id.
    answers : given beforehand, by `Question.key`: unit, channel, source-id, accept-rate.
    ask : False where nobody can answer; a question then ends the source with a ConfigError.
    memory : answers of earlier sessions; None to ask every time.
    patience_s : how long to wait for the stream, and for its first samples.
    """

    def __init__(
        self,
        wanted: Wanted | None = None,
        answers: Mapping[str, str] | None = None,
        *,
        ask: bool = True,
        memory: AmplifierMemory | None = None,
        patience_s: float = PATIENCE_S,
        no_data_s: float = NO_DATA_S,
    ):
        self.wanted = wanted or Wanted()
        self._given = {key: value for key, value in (answers or {}).items() if value}
        self._ask = ask
        self._memory = memory
        self._patience_s = patience_s
        self._no_data_s = no_data_s
        self._messages: queue.SimpleQueue[SourceMessage] = queue.SimpleQueue()
        self._answers: queue.SimpleQueue[tuple[str, str]] = queue.SimpleQueue()
        self._lock = threading.Lock()
        self._open_question: tuple[str, Callable[[str], object]] | None = None
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="stream reader", daemon=True)

    # ---- the host's side ----------------------------------------------------------------------

    def start(self) -> None:
        """Begin to look for the stream; SourceError where LSL's reach is not in force."""
        require_configured()
        self._thread.start()

    def get(self, timeout_s: float) -> SourceMessage | None:
        """Return the next message, or None after ``timeout_s``."""
        try:
            return self._messages.get(timeout=timeout_s)
        except queue.Empty:
            return None

    def answer(self, key: str, value: str) -> None:
        """Answer the open question; ConfigError where there is none or the value does not fit."""
        with self._lock:
            if self._open_question is None or self._open_question[0] != key:
                open_key = self._open_question[0] if self._open_question else "no question is open"
                raise bad_value("question", key, f"the open one ({open_key})", "answer that one")
            self._open_question[1](value)
            self._open_question = None
        self._answers.put((key, value))

    def stop(self) -> None:
        """End the thread and close the inlet; returns when both are gone."""
        self._stop.set()
        if self._thread.ident is not None:
            self._thread.join()

    # ---- the thread ---------------------------------------------------------------------------

    def _run(self) -> None:
        try:
            self._read()
        except StoppedError:
            self._messages.put(Ended())
        except NudgelineError as error:
            self._messages.put(Ended(error))
        except Exception as error:  # a thread must not die unheard
            what = f"{type(error).__name__}: {error}"
            self._messages.put(
                Ended(SourceError(f"The stream reader failed ({what}); start the session again."))
            )

    def _read(self) -> None:
        inlet = Inlet(self._find())
        try:
            flow = self._open(inlet)
        except BaseException:
            inlet.close()
            raise
        Following(inlet, flow, self._messages.put, self._stopped, self._no_data_s).run()
        raise StoppedError

    def _find(self) -> pylsl.StreamInfo:
        answer = self._given.get("source-id", "")
        found = look(self.wanted, self._patience_s, self._stop.is_set)
        self._check_stop()
        streams = [describe(info.as_xml()) for info in found]
        chosen = choose(streams, self.wanted, answer, reach_of(require_configured()))
        if isinstance(chosen, Question):
            self._put_question(chosen, lambda value: choose(streams, self.wanted, value))
            while (said := self._answer()) is None:
                self._stop.wait(ANSWER_WAIT_S)
                self._check_stop()
            chosen = choose(streams, self.wanted, said[1])
        uid = chosen.uid if isinstance(chosen, Description) else ""
        return next(info for info in found if info.uid() == uid)

    def _open(self, inlet: Inlet) -> Flow:
        """Ask, measure, say that the stream is opened, and send what was collected meanwhile."""
        stream = inlet.stream
        require_usable(stream)
        if not stream.source_id:
            self._messages.put(
                SourceNote(
                    f"{stream.title} has no source_id: after a loss it can be found again only by "
                    "its name and computer, and no answer about it is remembered."
                )
            )
        recalled = None
        if self._memory is not None:
            recalled = self._memory.recall(stream.source_id, stream.n_channels)
        opening = Opening(stream, self._given, recalled)
        opened = self._collect(inlet, opening)
        self._messages.put(opened)
        for note in opening.notes:
            self._messages.put(SourceNote(note))
        if opening.dropped_s:
            self._messages.put(
                SourceNote(
                    f"The first {opening.dropped_s:.0f} s, before the answers, are not kept."
                )
            )
        if self._memory is not None and opening.learnt != recalled:
            self._remember(self._memory, stream, opening)
        flow = Flow(opened.info)
        newest_s = newest_stamp(list(opening.collected))
        for message in flow.start():
            self._messages.put(message)
        for pulled in opening.collected:
            for message in flow.feed(pulled, newest_s, live=False):
                self._messages.put(message)
        return flow

    def _collect(self, inlet: Inlet, opening: Opening) -> Opened:
        last, asked = time.monotonic(), ""
        while True:
            self._check_stop()
            pulls = self._pull(inlet)
            for pulled in pulls:
                opening.feed(pulled)
            last = time.monotonic() if pulls else last
            if time.monotonic() - last >= self._patience_s:
                raise SourceError(
                    f"{inlet.stream.title} is there but sends nothing (for {self._patience_s:g} s);"
                    " start the amplifier, and look at its cable and battery."
                )
            if (said := self._answer()) is not None:
                opening.answer(*said)
                asked = ""
            step = opening.step()
            if isinstance(step, Opened):
                return step
            if step is not None and step.key != asked:
                asked = step.key
                self._put_question(step, partial(opening.check, step.key))

    def _pull(self, inlet: Inlet) -> list[Pulled]:
        try:
            return inlet.pull(WAIT_S)
        except InletLostError:
            raise SourceError(
                f"{inlet.stream.title} was closed while it was being opened; start the "
                "amplifier's program again."
            ) from None

    def _remember(self, memory: AmplifierMemory, stream: Description, opening: Opening) -> None:
        try:
            memory.remember(stream.source_id, opening.learnt)
        except OSError as error:
            self._messages.put(
                SourceNote(
                    f"The answers about this amplifier could not be kept in {memory.path} "
                    f"({error.strerror}); they will be asked again."
                )
            )

    def _put_question(self, question: Question, check: Callable[[str], object]) -> None:
        if not self._ask:
            raise unanswered(question)
        with self._lock:
            self._open_question = (question.key, check)
        self._messages.put(question)

    def _answer(self) -> tuple[str, str] | None:
        try:
            return self._answers.get_nowait()
        except queue.Empty:
            return None

    def _stopped(self, wait_s: float) -> bool:
        return self._stop.wait(wait_s) if wait_s else self._stop.is_set()

    def _check_stop(self) -> None:
        if self._stop.is_set():
            raise StoppedError
