"""The card on which an adverse effect is written down, complete and at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from engine.practice.care import EFFECTS, NOTICED, SEVERITIES, effect_missing
from ui.monitor.pages.care_steps import SaveEntry
from ui.monitor.pages.form import Button, Card, Field, Pick, Said, Tick, row_of
from ui.monitor.parts import Words
from ui.theme import BODY, SMALL

LABELS = 112
SEVERE = "Severe: no more training today; tell whoever supervises, and follow your local rules."


class AdverseCard(Card):
    """Each effect is one entry under ``adverse``; those of today are listed below."""

    def __init__(self, save_entry: SaveEntry, changed: Callable[[], object]):
        super().__init__("Adverse effect")
        self._save_entry, self._changed = save_entry, changed
        self._logged: list[Mapping[str, Any]] = []
        self.what = Pick(EFFECTS, self._touched, size=SMALL + 1, per_row=5)
        self.words = Field("in words", self._touched, label_width=LABELS)
        self.when = Pick(NOTICED, self._touched, size=SMALL + 1)
        self.severity = Pick(SEVERITIES, self._touched, size=SMALL + 1)
        self.done = Field(
            "what was done", self._touched, 0, "stopped, rested, told to call", LABELS
        )
        self.follow_up = Tick("ask about it at the next visit", self._touched, on=True)
        self.said = Said(size=SMALL + 1, ink="muted")
        self._labels: list[Words] = []
        self.list = Said(size=SMALL + 1)
        self.log = Button("Write it down", self.write_down)
        self.column.addWidget(self.what)
        self.column.addWidget(self.words)
        for name, pick in (("noticed", self.when), ("severity", self.severity)):
            label = Words(name, BODY, "muted")
            self._labels.append(label)
            self.column.addLayout(row_of(label, pick, spacing=6))
        self.column.addWidget(self.done)
        self.column.addLayout(row_of(self.follow_up, self.log))
        self.column.addWidget(self.said)
        self.column.addWidget(self.list)
        self.column.addStretch(1)
        self._say()

    def fit(self) -> None:
        super().fit()
        for label in self._labels:
            label.setFixedWidth(self.look.px(LABELS))

    @property
    def begun(self) -> bool:
        """Whether something is written here that is not written down yet."""
        picked = self.what.picked or self.when.picked or self.severity.picked
        return bool(picked or self.words.text or self.done.text)

    @property
    def missing(self) -> str:
        """What the entry still lacks, empty if it is complete."""
        what = self.words.text if self.what.picked in ("", "other") else self.what.picked
        return effect_missing(what, self.when.picked, self.severity.picked, self.done.text)

    def begin(self) -> None:
        """Take the keys: an effect was marked, and is to be written down now."""
        next(iter(self.what.options.values())).setFocus()

    def show_logged(self, entries: Sequence[Mapping[str, Any]]) -> None:
        """List what was written down today."""
        self._logged = list(entries)
        self._say()

    def _touched(self, *_: object) -> None:
        self._say()
        self._changed()

    def _say(self) -> None:
        self.log.setEnabled(self.begun and not self.missing)
        said = [SEVERE] if self.severity.picked == "severe" else []
        if self.begun and self.missing:
            said.append(self.missing)
        self.said.say(*said)
        self.list.say(*(logged_words(entry) for entry in self._logged[-2:]))

    def write_down(self) -> None:
        """Hand the effect over, and make room for another."""
        if self.missing:
            return
        entry = {
            "what": self.what.picked or self.words.text,
            "words": self.words.text,
            "when": self.when.picked,
            "severity": self.severity.picked,
            "done": self.done.text,
            "follow_up": self.follow_up.isChecked(),
        }
        self._save_entry("adverse", entry)
        self._logged.append(entry)
        for pick in (self.what, self.when, self.severity):
            pick.show_picked("")
        for field in (self.words, self.done):
            field.write("")
        self.follow_up.setChecked(True)
        self._touched()


def logged_words(entry: Mapping[str, Any]) -> str:
    """Write an effect in one line."""
    what = str(entry.get("what", "")) or "an effect was marked"
    parts = [what, *(str(entry[k]) for k in ("severity", "when", "done") if entry.get(k))]
    later = "; asked again next visit" if entry.get("follow_up") else ""
    return f"Written down: {', '.join(parts)}{later}."
