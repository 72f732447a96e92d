"""Following an opened stream through losses and returns, to the end of the session.

A stream is lost when nothing came for half a second or when its outlet is gone. It is back when
samples flow: from the same outlet, or from a new one that claims to be the same amplifier and
has not changed. What has changed, or is there twice, is refused with the reason, and waited for.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable

import pylsl

from engine.errors import SourceError
from engine.stream.discover import predicate_for, same_amplifier
from engine.stream.flow import Flow, newest_stamp
from engine.stream.inlet import ClockOffsets, Inlet, InletLostError
from engine.stream.messages import Lost, SourceMessage, SourceNote
from engine.stream.metadata import Description, describe, difference
from engine.stream.opening import Pulled

WAIT_S = 0.2
LOST_WAIT_S = 0.05
REOPEN_S = 1.0

SURE_S = 0.4
"""A returned outlet is watched for so long, in case another claims to be the same."""

FORGET_S = 1.5


class Following:
    """Owns the inlet, and replaces it; runs in the reader's thread alone."""

    def __init__(
        self,
        inlet: Inlet,
        flow: Flow,
        say: Callable[[SourceMessage], None],
        stopped: Callable[[float], bool],
        no_data_s: float,
    ):
        self._inlet: Inlet | None = inlet
        self._stream = inlet.stream
        self._uid = inlet.stream.uid
        self._flow = flow
        self._say = say
        self._stopped = stopped
        self._no_data_s = no_data_s
        self._offsets: ClockOffsets | None = ClockOffsets(inlet, say)

    def run(self) -> None:
        """Follow until stopped; the inlet is closed then."""
        try:
            while not self._stopped(0.0):
                why = self._live()
                if why and not self._stopped(0.0):
                    self._lost(why)
        finally:
            self._close()

    def _live(self) -> str:
        """Deliver until the stream is lost; return why, or ``""`` when stopped."""
        last = time.monotonic()
        while not self._stopped(0.0):
            silent_s = time.monotonic() - last
            if silent_s >= self._no_data_s:
                return f"no samples for {self._no_data_s:g} s"
            pulls = self._pull(min(WAIT_S, self._no_data_s - silent_s))
            if self._inlet is None:
                return "its outlet is gone"
            if pulls:
                last = time.monotonic()
                self._feed(pulls)
        return ""

    def _lost(self, why: str) -> None:
        """Wait for the stream and begin a new segment with it."""
        self._say_all(self._flow.lost())
        self._say(Lost(why))
        lost_uid = self._uid
        comeback = Comeback(self._stream, self._say)
        while not self._stopped(0.0 if self._inlet else LOST_WAIT_S):
            pulls = self._pull(LOST_WAIT_S)
            if self._inlet is None:
                comeback.gone(self._uid)
            if pulls:
                same = self._uid == lost_uid
                how = "samples flow again" if same else "found again as a new outlet"
                self._say_all(self._flow.returned(pulls[0], same, self._uid, how))
                self._feed(pulls)
                return
            opened = comeback.look(self._uid)
            if opened is not None:
                self._close()
                self._inlet, self._uid = opened, opened.stream.uid
                self._offsets = ClockOffsets(opened, self._say)

    def _pull(self, timeout_s: float) -> list[Pulled]:
        if self._inlet is None:
            return []
        try:
            return self._inlet.pull(timeout_s)
        except InletLostError:
            self._close()
            return []

    def _feed(self, pulls: list[Pulled]) -> None:
        newest_s = newest_stamp(pulls)
        for pulled in pulls:
            self._say_all(self._flow.feed(pulled, newest_s))

    def _say_all(self, messages: Iterable[SourceMessage]) -> None:
        for message in messages:
            self._say(message)

    def _close(self) -> None:
        if self._offsets is not None:
            self._offsets.stop()
            self._offsets = None
        if self._inlet is not None:
            self._inlet.close()
            self._inlet = None


class Comeback:
    """Looks for a lost amplifier, and opens it when it is the only one and unchanged."""

    def __init__(self, stream: Description, say: Callable[[SourceMessage], None]):
        self._stream = stream
        self._say = say
        self._resolver = pylsl.ContinuousResolver(pred=predicate_for(stream), forget_after=FORGET_S)
        self._gone: set[str] = set()
        self._refused: set[str] = set()
        self._seen_at: dict[str, float] = {}
        self._said: set[str] = set()

    def gone(self, uid: str) -> None:
        """Say that an outlet is known to be closed, though it may still be listed."""
        self._gone.add(uid)

    def look(self, current_uid: str) -> Inlet | None:
        """Return an inlet to an outlet that may take over, opened, or None for now."""
        now = time.monotonic()
        infos = {info.uid(): info for info in self._resolver.results()}
        listed = {
            uid
            for uid, info in infos.items()
            if uid not in self._gone and same_amplifier(self._stream, describe(info.as_xml()))
        }
        self._seen_at = {uid: self._seen_at.get(uid, now) for uid in listed}
        fresh = listed - {current_uid} - self._refused
        if not fresh or now - max(self._seen_at[uid] for uid in fresh) < SURE_S:
            return None
        if len(listed - self._refused) > 1:
            self._once(
                f"{len(listed)} outlets claim to be the lost amplifier {self._stream.name!r}, but "
                "it may be there only once; stop the others."
            )
            return None
        return self._open(infos[fresh.pop()])

    def _open(self, info: pylsl.StreamInfo) -> Inlet | None:
        try:
            inlet = Inlet(info, REOPEN_S)
        except SourceError:
            self._seen_at.pop(info.uid(), None)
            return None
        changed = difference(self._stream, inlet.stream)
        if changed:
            inlet.close()
            self._refused.add(info.uid())
            self._once(
                f"{self._stream.title} came back with {changed}, but a session goes on only with "
                "what it began with; set the amplifier back, or end this session and start another."
            )
            return None
        if not self._stream.source_id:
            self._once(
                f"{self._stream.title} has no source_id and was found again by its name and "
                "computer; make sure that it is the same amplifier."
            )
        return inlet

    def _once(self, sentence: str) -> None:
        if sentence not in self._said:
            self._said.add(sentence)
            self._say(SourceNote(sentence))
