"""The page on which the client rests, clenches and blinks, and limits are set from it."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtWidgets import QHBoxLayout

from engine.practice.check import CheckProposal
from engine.protocol import LIMITS
from engine.session.messages import Hello, Status
from ui.monitor.memory import Memory
from ui.monitor.pages.check_limits import CheckLimits, name_of
from ui.monitor.pages.check_step import StepCard, guided
from ui.monitor.pages.form import Button, Card, Page, Said, row_of
from ui.monitor.trace_strip import TraceStrip

Pairs = tuple[tuple[str, float], ...]
NO_MUSCLE = (
    "Muscle cannot be seen in this stream: the amplifier filters it away, so the clench will not "
    "stand out."
)

MOST_HIDDEN = 0.2
"""A limit that hides more of the rest than this is not put forward as the thing to do."""


class CheckPage(Page):
    """Three steps with the client, and the limits that come of them.

    Parameters
    ----------
    start, stop : begin a stretch of so many seconds (`engine.practice.check.CHECKS`); end it.
    accept : takes the limits that are to be used, pairs of key and microvolts.
    keep : called with the limits in force when they are to stay as they are.
    """

    def __init__(
        self,
        hello: Hello,
        start: Callable[[str, float], object],
        stop: Callable[[], object],
        accept: Callable[[Pairs], object],
        keep: Callable[[Pairs], object],
    ):
        super().__init__("")
        self._start, self._stop, self._accept, self._keep = start, stop, accept, keep
        self._busy = self._kept = False
        self._muscle_seen: bool | None = None
        self._running = ""
        self.proposal: CheckProposal | None = None
        self.steps: dict[str, StepCard] = {}
        for place, step in enumerate(guided(hello.protocol.eyes), start=1):
            self.steps[step.what] = StepCard(place, step, self._presser(step.what))
        self.trace = TraceStrip(hello)
        self.limits = CheckLimits()
        clearness = hello.protocol.clearness
        self._now: Pairs = tuple((key, clearness.value(key)) for key in LIMITS)
        self.limits.show_limits(self._now)
        self.said = Said(ink="lost")
        self.use = Button("Use these limits", self.use_limits)
        self.stay = Button("Keep today's limits", self.keep_limits)
        self._row = QHBoxLayout()
        for step_card in self.steps.values():
            self._row.addWidget(step_card, 1)
        card = Card("Limits: what is above them is hidden, and earns nothing")
        card.column.addWidget(self.limits)
        card.column.addWidget(self.said)
        card.column.addStretch(1)
        buttons = row_of(self.use, self.stay)
        buttons.addStretch(1)
        card.column.addLayout(buttons)
        self.column.addLayout(self._row)
        self.column.addWidget(self.trace, 1)
        self.column.addWidget(card)
        self._say()

    def fit(self) -> None:
        super().fit()
        self._row.setSpacing(self.look.px(7))
        self.trace.setMinimumHeight(self.look.px(60))
        self.trace.setMaximumHeight(self.look.px(400))

    def _presser(self, what: str) -> Callable[[], object]:
        return lambda: self.press(what)

    # ---- what the operator does ---------------------------------------------------------------

    def press(self, what: str) -> None:
        """Begin a step, or stop it where it runs."""
        if self._running == what:
            self._stop()
        else:
            self._kept = False
            self._start(what, self.steps[what].step.seconds)

    def use_limits(self) -> None:
        """Hand over the limits that are proposed."""
        if self.proposal is not None and self.proposal.accepted:
            self._kept = False
            self._accept(self.proposal.accepted)

    def keep_limits(self) -> None:
        """Leave the limits as they are."""
        self._kept = True
        found = self.proposal
        now = self._now if found is None else tuple((one.key, one.now_uv) for one in found.limits)
        self._keep(now)
        self._say()

    # ---- what is shown ------------------------------------------------------------------------

    def show_status(self, status: Status) -> None:
        """Follow what runs, what was done, and what is proposed."""
        view, was = status.stretch, self._running
        self._busy = status.phase in ("training", "rest")
        self._muscle_seen = status.muscle_seen
        self._running = view.what if view is not None and view.what in self.steps else ""
        for what, card in self.steps.items():
            card.view = view if view is not None and view.what == what else None
        for result in status.results:
            if result.what in self.steps:
                self.steps[result.what].result = result
        if status.check is not None and status.check != self.proposal:
            self.proposal = status.check
            self.limits.show_proposal(status.check)
        self._say()
        if was and not self._running:
            self._lead_on(was)

    def show_now(self, memory: Memory) -> None:
        """Draw the newest picture of the trace."""
        self.trace.show_status(memory)
        self.trace.show_now(memory)

    def _lead_on(self, was: str) -> None:
        """Lead the keys from a step that is over to what comes next."""
        if not self.steps[was].button.hasFocus():
            return
        due = self._due
        if due:
            self.steps[due].button.setFocus()
        elif self.use.isEnabled():
            self.use.setFocus()

    # ---- what is said -------------------------------------------------------------------------

    @property
    def _due(self) -> str:
        """The first step that is not done."""
        return next((what for what, card in self.steps.items() if not card.done), "")

    @property
    def in_force(self) -> bool:
        """Whether everything that is proposed holds already."""
        found = self.proposal
        if found is None or not found.accepted:
            return False
        return all(one.value_uv in (None, one.now_uv) for one in found.limits)

    @property
    def _costly(self) -> list[str]:
        """What speaks against a limit: it would hide much of the rest."""
        limits = self.proposal.limits if self.proposal is not None else ()
        return [
            f"At {one.value_uv:g} µV the limit for {name_of(one.key)} hides {one.rest_share:.0%} "
            "of the rest. If the client blinked or moved there, do the rest again; else keep "
            "today's."
            for one in limits
            if one.value_uv is not None and (one.rest_share or 0.0) > MOST_HIDDEN
        ]

    def _say(self) -> None:
        free = not self._busy and not self._running
        for what, card in self.steps.items():
            card.show_state(due=free and what == self._due, may=free)
        found = self.proposal
        may = found is not None and bool(found.accepted) and not self.in_force and free
        self.use.setEnabled(may)
        costly = self._costly
        self.use.say(self.use.text(), "focus" if may and not self._due and not costly else "")
        self.stay.setEnabled(free and not self._kept and not self.in_force)
        self.said.say(*([NO_MUSCLE] if self._muscle_seen is False else []), *costly)
        self.next.say(self._to_do())

    def _to_do(self) -> str:
        if self._running:
            return f"{self._running.capitalize()} runs; it ends by itself. Watch the trace below."
        if self._busy:
            return "A round runs: Esc stops it, then the check can be done."
        if self._kept:
            return "Today's limits stay: go on to the baseline."
        if due := self._due:
            begun = any(card.done for card in self.steps.values())
            first = "Then" if begun else "Say to the client what stands in the first card, then"
            return f"{first} begin {due}: {self.steps[due].step.seconds:g} seconds."
        if self.in_force:
            return "The limits are set: go on to the baseline."
        if self._costly:
            return "A limit would hide much of the rest: do the rest again, or decide below."
        if self.proposal is not None and self.proposal.accepted:
            return "Look at what the limits hide and catch, then use them, or keep today's."
        return "No limit could be found: do a step again, or keep today's limits."
