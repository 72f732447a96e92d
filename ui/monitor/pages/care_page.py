"""The page after the training: sensors off and clean, how it was, what comes next, the note."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from PyQt6.QtGui import QGuiApplication
from PyQt6.QtWidgets import QHBoxLayout, QVBoxLayout

from engine.practice.care import SensorSet
from ui.monitor.pages.care_adverse import AdverseCard
from ui.monitor.pages.care_steps import SaveEntry, StepsCard
from ui.monitor.pages.form import Button, Card, Page, Said, WritingBox, row_of
from ui.monitor.pages.rating_card import RatingCard
from ui.monitor.parts import Words
from ui.monitor.wording import clock
from ui.theme import BODY, SMALL


class PlanCard(Card):
    """What is planned for the next session, kept under ``plan``."""

    def __init__(self, save_entry: SaveEntry, changed: Callable[[], object]):
        super().__init__("Next session")
        self._save_entry, self._changed = save_entry, changed
        self._kept = ""
        self.words = WritingBox("same again, another site, a longer hold …", self._touched)
        self.words.setAccessibleName("plan for the next session")
        self.keep = Button("Keep", self.keep_plan)
        self.column.addWidget(self.words, 1)
        foot = Words("It is shown when this client comes next.", SMALL, "muted")
        self.column.addLayout(row_of(foot, self.keep))
        self._say()

    @property
    def open(self) -> bool:
        """Whether something is not kept yet."""
        return self.words.text != self._kept

    def _touched(self) -> None:
        self._say()
        self._changed()

    def _say(self) -> None:
        self.keep.setEnabled(self.open)

    def keep_plan(self) -> None:
        """Hand the plan over."""
        self._kept = self.words.text
        self._save_entry("plan", {"next": self._kept})
        self._touched()


class NoteCard(Card):
    """The finished progress note, to be copied into the client's file."""

    def __init__(self, changed: Callable[[], object]):
        super().__init__("Progress note")
        self._changed = changed
        self.copied = False
        self.note = WritingBox("The note is made from the record.", read_only=True)
        self.note.setAccessibleName("progress note")
        self.copy = Button("Copy the note", self.copy_note)
        self.column.addWidget(self.note, 1)
        self.foot = Words("", SMALL, "muted")
        self.column.addLayout(row_of(self.foot, self.copy))
        self.copy.setEnabled(False)

    def show_note(self, text: str) -> None:
        """Show the note as it stands now; where it changed it has to be copied again."""
        if text != self.note.toPlainText():
            self.note.setPlainText(text)
            self.copied = False
            self.copy.setEnabled(bool(text))
            self.foot.say("")

    def copy_note(self) -> None:
        """Put the whole note on the clipboard."""
        clipboard = QGuiApplication.clipboard()
        if clipboard is not None:
            clipboard.setText(self.note.toPlainText())
            self.copied = True
            self.foot.say("copied")
            self._changed()


class CarePage(Page):
    """What comes after the training.

    Parameters
    ----------
    save_entry : takes a topic of `engine.events.TOPICS` and plain JSON values: ``care`` (``done``,
        ``left``, ``sensors``, ``n_sessions``, ``new_sensors``), ``rating`` (``rating``,
        ``words``), ``plan`` (``next``), ``adverse`` (``what``, ``words``, ``when``, ``severity``,
        ``done``, ``follow_up``).
    sensors : the sets that are in use, the one worn last first.
    """

    def __init__(self, save_entry: SaveEntry, sensors: Sequence[SensorSet] | None = None):
        super().__init__("")
        self.steps = StepsCard(save_entry, tuple(sensors or ()), self._say)
        self.rating = RatingCard(save_entry, self._say)
        self.plan = PlanCard(save_entry, self._say)
        self.adverse = AdverseCard(save_entry, self._say)
        self.note = NoteCard(self._say)
        self.drowsy_card = Card("Drowsy")
        self.drowsy = Said(size=BODY)
        self.drowsy_card.column.addWidget(self.drowsy)
        self._columns = QHBoxLayout()
        self._middle, self._right = QVBoxLayout(), QVBoxLayout()
        self._middle.addWidget(self.rating, 1)
        self._middle.addWidget(self.adverse)
        self._right.addWidget(self.note, 3)
        self._right.addWidget(self.plan, 1)
        self._right.addWidget(self.drowsy_card)
        self._columns.addWidget(self.steps)
        self._columns.addLayout(self._middle)
        self._columns.addLayout(self._right, 1)
        self.column.addLayout(self._columns, 1)
        self.show_drowsy(())
        self._say()

    def fit(self) -> None:
        super().fit()
        px = self.look.px
        for layout in (self._columns, self._middle, self._right):
            layout.setSpacing(px(7))
        self.steps.setFixedWidth(px(430))
        for card in (self.rating, self.adverse):
            card.setFixedWidth(px(460))
        self.plan.setMinimumHeight(px(130))
        self.rating.setMinimumHeight(px(140))

    # ---- what is shown ------------------------------------------------------------------------

    def show_note(self, text: str) -> None:
        """Show the progress note."""
        self.note.show_note(text)
        self._say()

    def show_drowsy(self, times_s: Sequence[float]) -> None:
        """List when the client was marked as drowsy, seconds of the session."""
        if not times_s:
            self.drowsy.say("Not marked today.")
            return
        times = ", ".join(clock(time_s) for time_s in times_s)
        once = "Once" if len(times_s) == 1 else f"{len(times_s)} times"
        self.drowsy.say(f"{once}: at {times}.")

    def show_adverse(self, entries: Sequence[Mapping[str, Any]]) -> None:
        """List the adverse effects that were written down, or marked, today."""
        self.adverse.show_logged(entries)

    def show_rating(self, values: Mapping[str, Any]) -> None:
        """Show a rating that was kept elsewhere, so that nobody asks for it twice."""
        self.rating.show_kept(values)
        self._say()

    def begin_adverse(self) -> None:
        """Lead to the adverse effect: one was marked just now."""
        self.adverse.begin()

    # ---- what is said -------------------------------------------------------------------------

    def _say(self) -> None:
        self.next.say(self._to_do())

    def _to_do(self) -> str:
        if self.adverse.begun:
            return self.adverse.missing or "Write the adverse effect down."
        if n_left := len(self.steps.left):
            steps = "1 step is" if n_left == 1 else f"{n_left} steps are"
            return f"Take the sensors off and clean them: {steps} left."
        if self.steps.open:
            return "Keep what was done, and the set that was worn."
        if self.rating.open:
            return "Keep the client's rating."
        if self.rating.rating.picked == "":
            return "Ask the client how it was."
        if self.plan.open:
            return "Keep the plan for the next session."
        if not self.note.copied and self.note.copy.isEnabled():
            return "Copy the note into the client's file."
        return "All is done: close the session."
