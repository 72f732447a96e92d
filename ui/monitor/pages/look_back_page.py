"""The page that looks back on the session: its course, its rounds, what it came to, the rating."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from PyQt6.QtWidgets import QHBoxLayout, QVBoxLayout

from engine.lookback import sentences
from engine.lookback.course import Course
from engine.lookback.review import Review
from ui.monitor.pages.care_steps import SaveEntry
from ui.monitor.pages.client_view import ClientView
from ui.monitor.pages.course_chart import CLOSER, CourseChart
from ui.monitor.pages.form import Button, Card, Page, Tick, WritingBox, row_of
from ui.monitor.pages.rating_card import RatingCard
from ui.monitor.pages.rounds_table import RoundsTable
from ui.monitor.parts import Part, Words
from ui.monitor.wording import unit_words
from ui.theme import BODY, SMALL

MOST_LANES = 5
"""So many bands are drawn at once; more would be too low to read."""

EMPTY = "Nothing to look back on yet: take a baseline or train a round."
HINT = "click or ← → : read    + − : zoom    Backspace: undo"


class LookBackPage(Page):
    """What the session came to.

    Parameters
    ----------
    save_entry : takes ``rating`` and its values. again : asks the host for the course.
    report : has the reports written.
    """

    def __init__(
        self,
        save_entry: SaveEntry,
        again: Callable[[], object],
        report: Callable[[], object],
    ):
        super().__init__(EMPTY)
        self.seen: Review | None = None
        self._bands: tuple[int, ...] = ()
        self._turned = False
        self.turn = Button("Turn to the client", self._turn)
        self.refresh = Button("Draw again", again)
        self.report = Button("Write the report", report)
        top = QHBoxLayout()
        self.column.removeWidget(self.next)
        top.addWidget(self.next, 1)
        top.addWidget(self.report)
        top.addWidget(self.refresh)
        top.addWidget(self.turn)
        self.column.addLayout(top)

        self.own = Part()
        self._columns = QHBoxLayout(self.own)
        self._columns.setContentsMargins(0, 0, 0, 0)
        self._left, self._right = QVBoxLayout(), QVBoxLayout()
        self._columns.addLayout(self._left, 1)
        self._columns.addLayout(self._right)
        self.reading = Words(HINT, BODY, "muted")
        self.chart = CourseChart(self._read)
        self.course_card = Card("Course of the session")
        self.bands = QHBoxLayout()
        self.ticks: list[Tick] = []
        self.closer = Button("+", partial(self.chart.zoom, CLOSER), BODY)
        self.wider = Button("−", partial(self.chart.zoom, 1 / CLOSER), BODY)
        self.whole = Button("all", self.chart.whole, SMALL)
        self.undo = Button("undo zoom", self.chart.undo, SMALL)
        self.course_card.column.addLayout(self.bands)
        self.course_card.column.addWidget(self.chart, 1)
        foot = row_of(self.reading)
        for button in (self.closer, self.wider, self.whole, self.undo):
            foot.addWidget(button)
        self.course_card.column.addLayout(foot)
        self.rounds_card = Card("Rounds")
        self.table = RoundsTable()
        self.rounds_card.column.addWidget(self.table, 1)
        self._left.addWidget(self.course_card, 1)
        self._left.addWidget(self.rounds_card)

        self.said_card = Card("What it came to")
        self.said = WritingBox("", read_only=True)
        self.said.setAccessibleName("what the session came to")
        self.said_card.column.addWidget(self.said, 1)
        self.rating = RatingCard(save_entry, self._say)
        self._right.addWidget(self.said_card, 1)
        self._right.addWidget(self.rating)
        self.client = ClientView()
        self.column.addWidget(self.own, 1)
        self.column.addWidget(self.client, 1)
        self._show_turned()

    def fit(self) -> None:
        super().fit()
        px = self.look.px
        for layout in (self._columns, self._left, self._right):
            layout.setSpacing(px(7))
        for card in (self.said_card, self.rating):
            card.setFixedWidth(px(460))
        self.rounds_card.setFixedHeight(px(192))
        self.rating.setFixedHeight(px(172))

    # ---- what is shown --------------------------------------------------------------------------

    def show_review(self, seen: Review) -> None:
        """Show what the session came to so far."""
        course = seen.course
        first = self.seen is None or self.seen.course.protocol != course.protocol
        self.seen = seen
        if first:
            self._offer_bands(course)
        self.said.setPlainText("\n".join(f"· {text}" for text in sentences.practitioner(seen)))
        self.rounds_card.title.say(f"Rounds: amplitudes in {unit_words(course.protocol)}")
        self.client.show_review(seen, sentences.client(seen))
        self._draw()
        self._say()

    def show_rating(self, values: Mapping[str, Any]) -> None:
        """Show a rating that was kept elsewhere."""
        self.rating.show_kept(values)
        self._say()

    def _offer_bands(self, course: Course) -> None:
        for tick in self.ticks:
            tick.setParent(None)
            tick.deleteLater()
        self.ticks = []
        for place, condition in enumerate(course.conditions):
            tick = Tick(condition.label, self._draw, on=place < MOST_LANES)
            tick.dress(self.look)
            self.ticks.append(tick)
            self.bands.addWidget(tick)

    def _draw(self) -> None:
        if self.seen is None:
            return
        chosen = tuple(i for i, tick in enumerate(self.ticks) if tick.isChecked())[:MOST_LANES]
        for tick in self.ticks:
            tick.setEnabled(tick.isChecked() or len(chosen) < MOST_LANES)
        self._bands = chosen
        self.chart.show_course(self.seen.course, chosen)
        self.table.show_review(self.seen, chosen)

    def _read(self, text: str) -> None:
        self.reading.say(text or HINT, "text" if text else "muted")
        self._show_zoom()

    def _show_zoom(self) -> None:
        self.undo.setEnabled(self.chart.can_undo)

    # ---- turned to the client -------------------------------------------------------------------

    def _turn(self) -> None:
        self._turned = not self._turned
        self._show_turned()

    def _show_turned(self) -> None:
        self.own.setVisible(not self._turned)
        self.client.setVisible(self._turned)
        for button in (self.refresh, self.report):
            button.setVisible(not self._turned)
        self.turn.say("Back to the numbers" if self._turned else "Turn to the client")
        self.turn.updateGeometry()
        self._say()

    # ---- what is said ---------------------------------------------------------------------------

    def _say(self) -> None:
        for button in (self.turn, self.report):
            button.setEnabled(self.seen is not None)
        self.next.say(self._to_do())

    def _to_do(self) -> str:
        if self._turned:
            return ""
        if self.seen is None:
            return EMPTY
        if self.rating.open:
            return "Keep the client's rating."
        if self.seen.rounds and not self.rating.rating.picked:
            return "Turn it to the client, then ask how it was."
        if not self.seen.rounds:
            return EMPTY
        return "Go on to Care."
