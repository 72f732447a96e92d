"""The card of the client's own rating and words, kept under ``rating``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from ui.monitor.pages.care_steps import SaveEntry
from ui.monitor.pages.form import Button, Card, Pick, WritingBox, row_of
from ui.monitor.parts import Words
from ui.theme import SMALL

RATINGS = tuple(str(n) for n in range(11))


class RatingCard(Card):
    """Numbers to pick, a box to write in, and a button that hands both over."""

    def __init__(self, save_entry: SaveEntry, changed: Callable[[], object]):
        super().__init__("How was it? The client's own words")
        self._save_entry, self._changed = save_entry, changed
        self._kept: dict[str, Any] = {"rating": None, "words": ""}
        self.rating = Pick(RATINGS, self._touched, size=SMALL + 1)
        self.words = WritingBox("what the client says of it", self._touched)
        self.words.setAccessibleName("the client's own words")
        self.keep = Button("Keep", self.keep_rating)
        self.column.addWidget(self.rating)
        self.column.addWidget(self.words, 1)
        foot = Words("0: not well at all, 10: very well", SMALL, "muted")
        self.column.addLayout(row_of(foot, self.keep))
        self._say()

    @property
    def open(self) -> bool:
        """Whether something is not kept yet."""
        return self._values() != self._kept

    def _values(self) -> dict[str, Any]:
        picked = self.rating.picked
        return {"rating": int(picked) if picked else None, "words": self.words.text}

    def _touched(self, *_: object) -> None:
        self._say()
        self._changed()

    def _say(self) -> None:
        self.keep.setEnabled(self.open)

    def show_kept(self, values: Mapping[str, Any]) -> None:
        """Show what was kept already."""
        rating = values.get("rating")
        self.rating.show_picked("" if rating is None else str(rating))
        self._kept = {"rating": rating, "words": str(values.get("words", ""))}
        self.words.setPlainText(self._kept["words"])
        self._say()

    def keep_rating(self) -> None:
        """Hand the rating over."""
        self._kept = self._values()
        self._save_entry("rating", self._kept)
        self._touched()
