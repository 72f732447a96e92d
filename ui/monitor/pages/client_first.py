"""The card of what is asked, said and agreed before a client's first session."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime

from PyQt6.QtWidgets import QGridLayout

from engine.practice.screening import (
    ACKNOWLEDGED,
    ANSWERS,
    ASSENT,
    CAUTIONS,
    CONSENT,
    FIRST,
    GUARDIAN,
    care_for,
    unanswered,
)
from engine.practice.visit import Consent
from ui.monitor.pages.form import Button, Card, Pick, Said, Tick, row_of
from ui.monitor.parts import Words
from ui.theme import BODY, SMALL


class FirstCard(Card):
    """Questions with three answers each, cautions, consent; `consent` once all is acknowledged."""

    def __init__(
        self,
        changed: Callable[[], object],
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
    ):
        super().__init__("Before the first session")
        self._changed, self._now = changed, now
        self._child = False
        self._acknowledged_utc = ""
        self.answers = {
            asked.key: Pick(ANSWERS, lambda _: self._touched(), size=SMALL) for asked in FIRST
        }
        self._grid = QGridLayout()
        for row, asked in enumerate(FIRST):
            question = Said(asked.text, BODY - 0.5)
            self._grid.addWidget(question, row, 0)
            self._grid.addWidget(self.answers[asked.key], row, 1)
            for option, button in self.answers[asked.key].options.items():
                button.setAccessibleName(f"{asked.short}: {option}")
        self._grid.setColumnStretch(0, 1)
        self.column.addLayout(self._grid)
        self.none = Button("No to all that is open", self._no_to_the_rest)
        open_words = Words("Each answer is the client's.", SMALL, "muted")
        self.column.addLayout(row_of(open_words, self.none))
        self.care = Said(size=SMALL + 0.5, ink="lost")
        self.column.addWidget(self.care)
        self.cautions = Said("\n".join(f"• {caution}" for caution in CAUTIONS), SMALL + 0.5)
        self.column.addWidget(self.cautions)
        self.consent_tick = Tick(CONSENT, self._touched)
        self.guardian_tick = Tick(GUARDIAN, self._touched)
        self.assent_tick = Tick(ASSENT, self._touched)
        self.read_tick = Tick(ACKNOWLEDGED, self._touched)
        for tick in (self.consent_tick, self.guardian_tick, self.assent_tick, self.read_tick):
            self.column.addWidget(tick)
        self.column.addStretch(1)
        self.show_child(False)
        self.care.say()

    def fit(self) -> None:
        super().fit()
        self._grid.setVerticalSpacing(self.look.px(2))
        self._grid.setHorizontalSpacing(self.look.px(8))

    def clear(self, answers: Mapping[str, str] | None = None) -> None:
        """Ask anew, from the answers of an earlier time where there are some."""
        for key, pick in self.answers.items():
            pick.show_picked((answers or {}).get(key, ""))
        for tick in (self.consent_tick, self.guardian_tick, self.assent_tick, self.read_tick):
            tick.setChecked(False)
        self._touched()

    def show_child(self, child: bool) -> None:
        """Ask a guardian and the child, or the client alone."""
        self._child = child
        self.consent_tick.setVisible(not child)
        self.guardian_tick.setVisible(child)
        self.assent_tick.setVisible(child)
        self._touched()

    @property
    def screening(self) -> dict[str, str]:
        """The answers, by key."""
        return {key: pick.picked for key, pick in self.answers.items() if pick.picked}

    @property
    def missing(self) -> str:
        """What is still to be done here, in one sentence; empty if nothing."""
        n_open = len(unanswered(self.screening))
        if n_open:
            return f"Ask what is asked before the first session: {n_open} open."
        agreed = (self.guardian_tick, self.assent_tick) if self._child else (self.consent_tick,)
        if not all(tick.isChecked() for tick in agreed):
            both = "the guardian's consent and the child's assent"
            return f"Ask for {both if self._child else 'consent'}, and tick it."
        return "" if self.read_tick.isChecked() else "Read the cautions, and tick that you have."

    def consent(self, operator: str, more: tuple[str, ...] = ()) -> Consent:
        """Return what was acknowledged, with the protocol's cautions as ``more``."""
        return Consent(
            given_by="guardian" if self._child else "client",
            assent=self.assent_tick.isChecked() if self._child else None,
            cautions=(*CAUTIONS, *(caution for caution in more if caution not in CAUTIONS)),
            acknowledged_utc=self._acknowledged_utc,
            by=operator,
        )

    def _no_to_the_rest(self) -> None:
        for pick in self.answers.values():
            if not pick.picked:
                pick.show_picked(ANSWERS[0])
        self._touched()
        self.read_tick.setFocus()

    def _touched(self) -> None:
        self.care.say(*care_for(self.screening))
        self.none.setEnabled(bool(unanswered(self.screening)))
        done = not self.missing
        if done and not self._acknowledged_utc:
            self._acknowledged_utc = self._now().isoformat(timespec="seconds")
        elif not done:
            self._acknowledged_utc = ""
        self._changed()
