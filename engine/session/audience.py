"""Who hears of a session: the desk, the client displays and the outlets, each what it may know."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, Protocol

from engine.chunk import StreamInfo
from engine.events import Entry, EstimatorChosen, Event, Note, PointEarned, Tick
from engine.practice.spindles import SpindleWatch, spindle_condition
from engine.session.children import Children
from engine.session.client_frame import (
    ClientView,
    after_tick,
    frame_of,
    shown_during,
    without_signal,
)
from engine.session.description import responses_of
from engine.session.foresight import Foreseer
from engine.session.impedances import ImpedanceView
from engine.session.live import LiveSession
from engine.session.lookout import Lookout
from engine.session.messages import (
    Batch,
    ClientControl,
    ClientFrame,
    Hello,
    Reception,
    Remark,
    ToDesk,
)
from engine.session.status import StreamState, status_of
from engine.session.window_process import Window
from engine.stream.messages import Question

PICTURE_S = 0.025
STATUS_S = 0.1
DROWSY = "Bursts like sleep spindles: look whether the client is drowsy; D marks it."
REMEMBERED_S = 60.0
"""A desk that is started again is shown what happened in so many seconds before."""


class Publisher(Protocol):
    """Outlets that carry events and client frames to recorders and other computers."""

    def event(self, event: Event) -> None: ...
    def frame(self, frame: ClientFrame) -> None: ...


class Audience:
    """Sends to windows and outlets; never waits for one."""

    def __init__(
        self,
        children: Children,
        windows: Sequence[Window],
        publisher: Publisher | None,
        control: ClientControl,
        say: Callable[[str], None],
        foreseer: Foreseer | None = None,
        reception: Reception | None = None,
    ):
        self.control = control
        self.reception = reception or Reception()
        self.questions: dict[str, Question] = {}
        self.stream = StreamState()
        self.impedances: Callable[[], ImpedanceView | None] = lambda: None
        self._children = children
        self._publisher = publisher
        self._foreseer = foreseer
        self._lookout: Lookout | None = None
        self._say = say
        self.desk = next((window.name for window in windows if window.two_way), None)
        self._displays = [window.name for window in windows if not window.two_way]
        self._live: LiveSession | None = None
        self._hello: Hello | None = None
        self._remarks: list[Remark] = []
        self._unsent: list[Tick] = []
        self._recent: deque[Tick] = deque()
        self._trace_cursor = 0
        self._view = ClientView()
        self._pictured_at = self._told_at = 0.0
        self._heard_tick = False
        self._spindles: SpindleWatch | None = None

    @property
    def client_shown(self) -> bool:
        return any(self._children.is_ready(name) for name in self._displays)

    # ---- the session's events -------------------------------------------------------------------

    def hear(self, item: Tick | Event) -> None:
        """Take a tick or an event of the session, in order."""
        if isinstance(item, Tick):
            self._hear_tick(item)
            return
        if isinstance(item, EstimatorChosen):
            self._filters_changed(item)
        self._to_desk(item)
        if self._publisher is not None and not isinstance(item, Note | Entry):
            self._publisher.event(item)
        if isinstance(item, PointEarned):
            self._view = ClientView(
                self._view.progress, self._view.closeness, self._view.clear_s, item.number
            )
            self._send_frame()

    def _filters_changed(self, chosen: EstimatorChosen) -> None:
        """Tell the desk of the delay and the filters that this round begins with."""
        if self._hello is None or self._live is None:
            return
        plan, settings = self._live.pipeline.plan, self._live.pipeline.settings
        delay_s = plan.delay_s(settings)
        self._hello = replace(
            self._hello,
            settings=settings,
            delay_s=delay_s,
            delays=plan.delays(settings),
            responses=responses_of(plan),
        )
        self._to_desk(self._hello)
        found = f" ({chosen.why})" if chosen.why else ""
        self.remark(f"This round's filters are {chosen.name}, {delay_s:.2f} s behind{found}.")

    def _hear_tick(self, tick: Tick) -> None:
        if self._live is None:
            return
        tick_s = self._live.pipeline.plan.tick_s
        if self._spindles is not None and self._spindles.hear(tick):
            self.remark(DROWSY)
        self._unsent.append(tick)
        self._recent.append(tick)
        while len(self._recent) * tick_s > REMEMBERED_S:
            self._recent.popleft()
        self._view = after_tick(self._view, tick, tick_s)
        self._heard_tick = True

    def opened(self, live: LiveSession, info: StreamInfo, title: str, demo: bool) -> None:
        """Tell the desk what the session is."""
        plan, settings = live.pipeline.plan, live.pipeline.settings
        self._live = live
        self._unsent, self._trace_cursor, self._view = [], 0, ClientView()
        self._recent.clear()
        place = spindle_condition(live.protocol)
        self._spindles = None if place is None else SpindleWatch(place, plan.tick_s)
        if self._foreseer is not None:
            self._lookout = Lookout(live, self._foreseer)
        self._hello = Hello(
            title=title,
            protocol=live.protocol,
            settings=settings,
            info=info,
            delay_s=plan.delay_s(settings),
            delays=plan.delays(settings),
            tick_s=plan.tick_s,
            trace_sfreq=plan.sfreq_decimated,
            signals=plan.signals,
            recording=str(live.recording.path or ""),
            client=self.control,
            demo=demo,
            responses=responses_of(plan),
            contact=live.preparation.limits,
        )
        self._to_desk(self._hello)

    # ---- the windows ----------------------------------------------------------------------------

    def window_ready(self, window: Window) -> None:
        """Tell a window that is new, or back, all that it has to know."""
        if not window.two_way:
            self._children.send(window.name, self.control)
            return
        self._to_desk(self.reception)
        if self._hello is not None and self._live is not None:
            self._to_desk(self._hello)
            for entry in self._live.entries:
                self._to_desk(entry)
            self._unsent = list(self._recent)
            self._trace_cursor = 0
        for question in self.questions.values():
            self._to_desk(question)
        for remark in self._remarks:
            self._to_desk(remark)
        self._remarks.clear()

    def say_hello(self) -> None:
        """Introduce the session to the desk again."""
        if self._hello is not None:
            self._to_desk(self._hello)

    def retitle(self, title: str) -> None:
        """Say to the desk whose session this is."""
        if self._hello is not None:
            self._hello = replace(self._hello, title=title)
            self._to_desk(self._hello)

    def receive(self, **changes: Any) -> None:
        """Tell the desk what has changed about the visit, the fields of `Reception`."""
        self.reception = replace(self.reception, **changes)
        self._to_desk(self.reception)

    def tell(self, message: ToDesk) -> None:
        """Tell the desk what it has asked for."""
        self._to_desk(message)

    def ask(self, question: Question) -> None:
        """Put a question to the operator; it stands until it is answered."""
        self.questions[question.key] = question
        self._to_desk(question)

    def remark(self, text: str, *, grave: bool = False) -> None:
        """Say a sentence to the operator; without a desk, on standard error."""
        remark = Remark(text, grave)
        if self.desk is None:
            self._say(text)
        elif self._children.is_ready(self.desk):
            self._to_desk(remark)
        else:
            self._remarks.append(remark)

    def without_desk(self) -> None:
        """Go on without a desk: what it should have been told is said on standard error."""
        self.desk = None
        for remark in self._remarks:
            self._say(remark.text)
        self._remarks.clear()

    def change_client(self, control: ClientControl) -> None:
        """Change what the client's window shows."""
        self.control = control
        for name in self._displays:
            self._children.send(name, control)

    # ---- pictures of the moment -----------------------------------------------------------------

    def pictures(self, now_s: float) -> None:
        """Send what is due of batches, client frames and status."""
        passed_s = now_s - self._pictured_at
        if passed_s >= PICTURE_S:
            if not self._heard_tick and not self.stream.ok:
                self._view = without_signal(self._view, min(passed_s, 2 * PICTURE_S))
            self._pictured_at, self._heard_tick = now_s, False
            self._send_batch()
            self._send_frame()
        if now_s - self._told_at >= STATUS_S:
            self._told_at = now_s
            self.tell_status()
            self._send_foresight(now_s)

    def tell_status(self) -> None:
        """Send the desk its numbers."""
        if self._live is not None and self.desk is not None and self._children.is_ready(self.desk):
            found = self.impedances()
            self._to_desk(
                status_of(self._live, self.stream, self.control, self.client_shown, found)
            )

    def map(self, across: str, up: str) -> None:
        """Forecast over the thresholds of these two bands."""
        if self._lookout is not None:
            self._lookout.map(across, up)

    def _send_foresight(self, now_s: float) -> None:
        if self._lookout is None or self.desk is None:
            return
        if self._foreseer is not None and self._foreseer.given_up:
            self._foreseer = self._lookout = None
            self.remark("The forecast has failed twice; the session goes on without it.")
            return
        found = self._lookout.look(now_s, self._recent)
        if found is not None:
            self._to_desk(found)

    def _send_batch(self) -> None:
        if self._live is None:
            return
        ticks, self._unsent = tuple(self._unsent), []
        since = self._live.pipeline.trace.since(self._trace_cursor)
        refilled, self._trace_cursor = self._trace_cursor == 0, since.cursor
        if ticks and self.desk is not None:
            lost = 0 if refilled else since.lost
            self._to_desk(Batch(ticks, since.samples, ticks[-1].time_s, lost))

    def _send_frame(self) -> None:
        phase, prompt = "ready", ""
        if self._live is not None:
            phase, stretch = self._live.rounds.phase, self._live.preparation.stretches.running
            if stretch:
                phase, prompt = shown_during(stretch, self._live.protocol.eyes)
        frame = frame_of(self._view, phase, prompt)
        for name in self._displays:
            self._children.send(name, frame)
        if self._publisher is not None:
            self._publisher.frame(frame)

    def _to_desk(self, message: object) -> None:
        if self.desk is not None:
            self._children.send(self.desk, message)
