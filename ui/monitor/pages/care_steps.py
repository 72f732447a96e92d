"""The card of what hands do after the training, and the wear of the sensors."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from engine.practice.care import CLEAN, DISCONNECT, FIRST, SensorSet, wear_words
from ui.monitor.pages.form import Button, Card, Field, Pick, Said, Tick, row_of
from ui.monitor.parts import Words
from ui.theme import BODY

SaveEntry = Callable[[str, dict[str, Any]], object]


class StepsCard(Card):
    """Steps to tick, the set that was worn, and a new set in its place.

    ``changed`` is called after every change. What is kept goes under the topic ``care``.
    """

    def __init__(
        self, save_entry: SaveEntry, sensors: Sequence[SensorSet], changed: Callable[[], object]
    ):
        super().__init__("Disconnect and clean")
        self._save_entry, self._changed = save_entry, changed
        self._sets = {sensors.name: sensors for sensors in sensors}
        self._kept: dict[str, Any] | None = None
        self.ticks: dict[str, Tick] = {}
        self.column.addWidget(Said(FIRST, ink="muted"))
        for step in (*DISCONNECT, *CLEAN):
            box = Tick(step.text, self._touched)
            box.setToolTip(step.why)
            self.ticks[step.key] = box
            self.column.addWidget(box)
        self.column.addSpacing(4)
        self.column.addWidget(Words("Sensors worn today", BODY + 1, bold=True))
        first = next(iter(self._sets), "")
        self.sets = Pick(tuple(self._sets), self._picked, first, per_row=4)
        self.sets.setVisible(bool(self._sets))
        self.column.addWidget(self.sets)
        self.wear = Said()
        self.column.addWidget(self.wear)
        self.new_set = Field("a new set instead", self._touched, hint="its name, as gold C")
        self.column.addWidget(self.new_set)
        self.column.addStretch(1)
        self.keep = Button("Keep", self.keep_care)
        self.kept_words = Words("", BODY, "muted")
        self.column.addLayout(row_of(self.kept_words, self.keep))
        self._say()

    @property
    def left(self) -> list[str]:
        """The keys of the steps that are not done."""
        return [key for key, box in self.ticks.items() if not box.isChecked()]

    @property
    def open(self) -> bool:
        """Whether something is not kept yet."""
        return self._values() != self._kept

    def _picked(self, name: str) -> None:
        self._touched()

    def _touched(self) -> None:
        self._say()
        self._changed()

    def _values(self) -> dict[str, Any]:
        sensors = self._sets.get(self.sets.picked)
        return {
            "done": [key for key, box in self.ticks.items() if box.isChecked()],
            "left": self.left,
            "sensors": self.sets.picked,
            "n_sessions": None if sensors is None else sensors.used().n_sessions,
            "new_sensors": self.new_set.text,
        }

    def _say(self) -> None:
        sensors = self._sets.get(self.sets.picked)
        if sensors is None:
            known = "No set is known yet; name the one that was worn, and its sessions are counted."
            self.wear.say("Which set was worn?" if self._sets else known)
        else:
            worn = sensors.used().worn
            since = f" New on {sensors.since}." if sensors.since else ""
            self.wear.say(wear_words(sensors) + since)
            self.wear.ink("lost" if worn else "text")
        self.keep.setEnabled(self.open)
        self.kept_words.say("kept" if not self.open else "")

    def keep_care(self) -> None:
        """Hand over what was done and what was worn."""
        self._kept = self._values()
        self._save_entry("care", self._kept)
        self._touched()
