"""The card of what is asked at every visit, and of the adverse effects that are to be followed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from PyQt6.QtWidgets import QVBoxLayout

from engine.practice.screening import TODAY
from engine.practice.visit import FollowUp
from engine.records.effects import Effect
from ui.monitor.pages.form import Button, Card, Field, Said, Tick, row_of
from ui.monitor.parts import Part, Words
from ui.theme import SMALL

LABELS = 172


class FollowRow(Card):
    """One adverse effect of an earlier session, and what the client says of it now."""

    def __init__(self, effect: Effect, changed: Callable[[], object]):
        super().__init__(f"Ask how it went on: {effect.what}")
        self.effect = effect
        parts = [effect.severity, effect.noticed, effect.logged_utc[:10], effect.words, effect.done]
        self.column.addWidget(Said(", ".join(part for part in parts if part), SMALL + 1, "muted"))
        self.words = Field("now", changed, 0, "gone, how, since when", 40)
        self.words.line.setAccessibleName(f"{effect.what}, now")
        self.settled = Tick("settled: it is not asked about again", changed, on=True)
        self.column.addWidget(self.words)
        self.column.addWidget(self.settled)

    @property
    def heard(self) -> FollowUp:
        """What was heard."""
        return FollowUp(self.effect.id, self.words.text, self.settled.isChecked())


class Follow(Part):
    """The effects of earlier sessions that are to be asked about, one below the other."""

    def __init__(self, changed: Callable[[], object]):
        super().__init__()
        self._changed = changed
        self.rows: list[FollowRow] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)

    @property
    def missing(self) -> str:
        """Which effect is still to be asked about, in one sentence; empty if none."""
        for row in self.rows:
            if not row.words.text:
                return f"Ask how it went on: {row.effect.what}."
        return ""

    @property
    def heard(self) -> tuple[FollowUp, ...]:
        """What was heard of each."""
        return tuple(row.heard for row in self.rows)

    def clear(self, due: Sequence[Effect]) -> None:
        """Ask about these."""
        for row in self.rows:
            self._column.removeWidget(row)
            row.hide()
            row.deleteLater()
        self.rows = [FollowRow(effect, self._changed) for effect in due]
        for row in self.rows:
            self._column.addWidget(row)
        self.dress(self.look)


class TodayCard(Card):
    """The short set: a line a question, with one button for nothing to report."""

    def __init__(self, changed: Callable[[], object]):
        super().__init__("Today")
        self._changed = changed
        self.nothing = Button("None to all that is open", self._nothing)
        words = Words("Ask each.", SMALL, "muted")
        self.column.addLayout(row_of(words, self.nothing))
        self.lines = {
            asked.key: Field(asked.text, changed, 0, asked.hint, LABELS) for asked in TODAY
        }
        self.changed = Field("Anything else new", changed, 0, "may stay empty", LABELS)
        for field in (*self.lines.values(), self.changed):
            self.column.addWidget(field)

    @property
    def answers(self) -> dict[str, str]:
        """What is written, by key."""
        return {key: field.text for key, field in self.lines.items() if field.text}

    @property
    def missing(self) -> str:
        """What is still to be asked, in one sentence; empty if nothing."""
        for asked in TODAY:
            if not self.lines[asked.key].text:
                return f"Ask: {asked.text.lower()}."
        return ""

    def clear(self, answers: Mapping[str, str] | None = None, changed: str = "") -> None:
        """Ask anew; ``answers`` are those of the visit that runs."""
        for key, field in self.lines.items():
            field.write((answers or {}).get(key, ""))
        self.changed.write(changed)

    def _nothing(self) -> None:
        for asked in TODAY:
            if asked.nothing and not self.lines[asked.key].text:
                self.lines[asked.key].write(asked.nothing)
        still = [key for key, field in self.lines.items() if not field.text]
        self.lines[still[0] if still else TODAY[-1].key].line.setFocus()
        self._changed()
