"""The page for measuring a head: three lengths in, 21 sites out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from PyQt6.QtCore import Qt
from PyQt6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout

from engine.errors import ConfigError
from engine.practice.distances import distance_of, how
from engine.practice.doubts import asymmetries, doubts
from engine.practice.head import Halves, Head, head_from, measured
from engine.practice.hookup import halved, hookup_marks
from engine.practice.lengths import CM_IN, bare, read_length
from engine.practice.sites import MIDWAYS, find_site
from ui.monitor.head_picture import HeadPicture
from ui.monitor.pages.form import Button, Card, Field, Line, Page, Pick, Said, row_of
from ui.monitor.pages.site_table import SiteTable
from ui.monitor.parts import Words
from ui.theme import BODY, SMALL

LENGTHS = {
    "nasion-inion": "Nasion to inion, over the top",
    "preauricular": "Ear to ear, over Cz",
    "circumference": "Around, through Fpz and Oz",
}
HALVES = {"preauricular": "Ear to Cz", "circumference": "Fpz to Oz, around"}
LANDMARKS = (
    "Nasion: the dip between forehead and nose.",
    "Inion: the bump at the back of the head, in the middle.",
    "Ear: the dip in front of the ear canal; it moves when the jaw opens.",
    "Cz: where the middles of the first two lines cross.",
)
MOST_ASKED = 4
TO_DO = "Measure the three lengths and write them down; the 21 sites appear as you write."


class MeasurePage(Page):
    """Measures; ``save`` gets the head as plain values, fit for JSON and for ``head`` again.

    Parameters
    ----------
    site, reference, ground : as the protocol writes them, ``C4 - A2`` or ``linked ears``.
    head : what ``save`` was given last time; it fills the page.
    """

    def __init__(
        self,
        site: str,
        reference: str,
        ground: str,
        save: Callable[[dict[str, Any]], object],
        head: Mapping[str, Any] | None = None,
        today: Callable[[], date] = date.today,
    ):
        super().__init__(TO_DO)
        self._save, self._today = save, today
        self._kept: Head | None = None
        self._measured_on = ""
        self._marks = hookup_marks(site, reference, ground)
        self.head: Head | None = None
        self.unit = Pick(tuple(CM_IN), self._unit_changed, "cm")
        self.lengths = {
            key: Field(words, self._look_again, 70, label_width=210)
            for key, words in LENGTHS.items()
        }
        self.halves = {
            key: (Line("left", self._look_again), Line("right", self._look_again)) for key in HALVES
        }
        self.spans: dict[str, Line] = {}
        self.apart: dict[str, Line] = {}
        self.said = Said(size=BODY - 0.5)
        self.landmarks = Said("\n".join(LANDMARKS), SMALL, "muted")
        self.trouble = Said(size=BODY - 0.5, ink="lost")
        self.keep = Button("Keep with the client", self.keep_head)
        self.table = SiteTable(self._marks)
        self.picture = HeadPicture(self._marks)
        self._columns = QHBoxLayout()
        self._columns.addWidget(self._lengths_card())
        self._columns.addWidget(self._table_card(), 1)
        self._columns.addLayout(self._right())
        self.column.addLayout(self._columns, 1)
        self._look_again()
        if head is not None:
            self.show_head(head)

    # ---- the three columns ------------------------------------------------------------------

    def _lengths_card(self) -> Card:
        self._left = card = Card("The tape")
        card.column.addLayout(
            row_of(Words("read in", BODY, "muted", template="read in"), self.unit)
        )
        for field in self.lengths.values():
            card.column.addWidget(field)
        card.column.addWidget(
            Words("both halves, if you measured them: left, right", SMALL, "muted")
        )
        for key, words in HALVES.items():
            name = Words(words, BODY, "muted")
            for side, line in zip(("left", "right"), self.halves[key], strict=True):
                line.setAccessibleName(f"{words}, {side}")
            card.column.addLayout(row_of(name, *self.halves[key], spacing=6))
        card.column.addWidget(self.trouble)
        card.column.addWidget(self.said)
        card.column.addStretch(1)
        card.column.addWidget(self.landmarks)
        card.column.addWidget(self.keep, 0, Qt.AlignmentFlag.AlignRight)
        return card

    def _table_card(self) -> Card:
        card = Card("The sites, in the order of the hands")
        card.column.addWidget(self.table, 1)
        return card

    def _right(self) -> QVBoxLayout:
        head = Card("Where they lie")
        head.column.addWidget(self.picture, 1)
        self._half_way = card = Card("F3, F4, P3, P4: halve two spans")
        self._grid = QGridLayout()
        for column, words in enumerate(("", "span", "", "check", "", "apart")):
            self._grid.addWidget(Words(words, SMALL, "muted"), 0, column)
        for row, name in enumerate(MIDWAYS, start=1):
            both = halved(name)
            assert both is not None
            self._grid.addWidget(Words(name, BODY, bold=True, template="F3 "), row, 0)
            for column, span in zip((1, 3), both, strict=True):
                self.spans[span] = line = Line(span, self._look_again)
                line.setAccessibleName(f"{name}: {span}")
                self._grid.addWidget(line, row, column)
            self.apart[name] = line = Line("0", self._look_again)
            line.setAccessibleName(f"{name}: how far its two marks lie apart")
            self._grid.addWidget(line, row, 5)
        card.column.addLayout(self._grid)
        right = QVBoxLayout()
        right.addWidget(head, 1)
        right.addWidget(card)
        self._right_column, self._head_card = right, head
        return right

    def fit(self) -> None:
        super().fit()
        px = self.look.px
        self._columns.setSpacing(px(7))
        self._right_column.setSpacing(px(7))
        self._left.setFixedWidth(px(312))
        for card in (self._head_card, self._half_way):
            card.setFixedWidth(px(322))
        self._grid.setSpacing(px(4))
        for lines in self.halves.values():
            for line in lines:
                line.setFixedWidth(px(62))

    # ---- what is written ----------------------------------------------------------------------

    def show_head(self, values: Mapping[str, Any]) -> None:
        """Fill the page with a head as it was kept; a head that makes no sense is said."""
        try:
            head = head_from(values)
        except ConfigError as error:
            self.trouble.say(str(error))
            return
        unit = head.unit

        def words(cm: float | None) -> str:
            return "" if cm is None else bare(cm, unit)

        self.unit.show_picked(unit)
        self.lengths["nasion-inion"].write(words(head.nasion_inion_cm))
        self.lengths["preauricular"].write(words(head.preauricular_cm))
        self.lengths["circumference"].write(words(head.circumference_cm))
        for key, halves in (
            ("preauricular", head.preauricular_halves_cm),
            ("circumference", head.circumference_halves_cm),
        ):
            for line, cm in zip(self.halves[key], halves or (None, None), strict=True):
                line.setText(words(cm))
        for span, line in self.spans.items():
            line.setText(words(head.span(span)))
        for name, line in self.apart.items():
            line.setText(words(head.apart(name)))
        self._look_again()
        self._kept = self.head
        self._measured_on = head.measured_on
        self._say()

    def show_hookup(self, site: str, reference: str, ground: str) -> None:
        """Mark other sites."""
        self._marks = hookup_marks(site, reference, ground)
        self.table.show_marks(self._marks)
        self.picture.show_marks(self._marks)
        self._say()

    def _unit_changed(self, unit: str) -> None:
        """Read the same marks of the tape in another unit: nothing that was written changes."""
        self._look_again()

    def _look_again(self) -> None:
        """Work out the head anew from what is written."""
        self.head, trouble = self._read()
        self.trouble.say(*trouble)
        self.table.show_head(self.head)
        self.picture.show_head(self.head)
        self._say()

    def _read(self) -> tuple[Head | None, list[str]]:
        trouble: list[str] = []

        def length(name: str, text: str, zero: bool = False) -> float | None:
            text = text.strip()
            if zero and text.replace(",", ".") in ("0", "0.0", "0.00"):
                return 0.0
            found = read_length(text) if text else None
            if text and found is None:
                trouble.append(f"{name}: “{text}” is no length; write 36.5, 36,5 or 14 1/4.")
            return found

        three = [length(LENGTHS[key], field.text) for key, field in self.lengths.items()]
        pairs = {}
        for key, lines in self.halves.items():
            left, right = (length(HALVES[key], line.text()) for line in lines)
            if (left is None) != (right is None):
                trouble.append(f"{HALVES[key]}: one half is open; measure both or leave both out.")
            pairs[key] = None if left is None or right is None else (left, right)
        spans = {s: length(s, line.text()) for s, line in self.spans.items()}
        apart = {n: length(f"{n} apart", line.text(), True) for n, line in self.apart.items()}
        if None in three:
            return None, trouble
        try:
            return _head(self.unit.picked, three, pairs, spans, apart), trouble
        except ConfigError as error:
            return None, [*trouble, str(error)]

    # ---- what is said -------------------------------------------------------------------------

    def _say(self) -> None:
        head = self.head
        asked = doubts(head) if head is not None else ()
        more = len(asked) - MOST_ASKED
        if asked:
            rest = (f"And {more} more questions.",) if more > 0 else ()
            self.said.say(*asked[:MOST_ASKED], *rest)
        else:
            self.said.say(*(asymmetries(head) if head is not None else ()))
        self.landmarks.setVisible(not asked)
        self.keep.setEnabled(head is not None and head != self._kept)
        if head is None:
            self.next.say(TO_DO)
        elif head == self._kept:
            when = f" on {self._measured_on}" if self._measured_on else ""
            self.next.say(f"Kept with the client{when}. {self._place_words(head)}")
        elif asked:
            self.next.say("Answer the questions at the left, or keep the head as it is.")
        else:
            self.next.say(f"Keep the head with the client. {self._place_words(head)}")

    def _place_words(self, head: Head) -> str:
        """Say where the chosen site goes."""
        for name in self._marks["site"]:
            site = find_site(name)
            if site is not None:
                return f"{name}: {how(distance_of(site, head), head.unit, name)}."
        return "Then mark the sites."

    def keep_head(self) -> None:
        """Hand the head over to be kept."""
        if self.head is None:
            return
        self._kept, self._measured_on = self.head, self._today().isoformat()
        self._save(self._kept.values() | {"measured_on": self._measured_on})
        self._say()


def _head(
    unit: str,
    three: list[float | None],
    pairs: dict[str, Halves | None],
    spans: dict[str, float | None],
    apart: dict[str, float | None],
) -> Head:
    lengths = [length for length in three if length is not None]
    return measured(
        unit,
        *lengths,
        preauricular_halves=pairs["preauricular"],
        circumference_halves=pairs["circumference"],
        spans={span: length for span, length in spans.items() if length is not None},
        apart={name: length for name, length in apart.items() if length is not None},
    )
