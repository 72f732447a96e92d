"""The settings as a short table, read and changed in place."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtCore import Qt
from PyQt6.QtGui import QPainter, QPaintEvent
from PyQt6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QVBoxLayout

from engine.session.messages import Hello
from ui.monitor.buttons import Press
from ui.monitor.forecast_cell import SIZES
from ui.monitor.keys import CAPS
from ui.monitor.memory import Memory
from ui.monitor.parts import CENTRE, LEFT, RIGHT, Cap, Part, Words
from ui.monitor.settings_rows import GAP, TALL, Nudge, Row, TimeRow, averaging_width, columns
from ui.monitor.wording import delay_words, unit_words
from ui.theme import SMALL, scroll_style

ROOM = 141
"""Base height that the rows share; each gets at most a third."""


THRESHOLD = 3
"""The place of the threshold among the columns; what a step leads to stands on both sides."""


def row_height(n_rows: int) -> float:
    """Return the base height of a row; five fit, more are reached by scrolling."""
    return max(31.0, min(47.0, ROOM / max(1, min(n_rows, 5))))


class SettingsTable(Part):
    """Every setting, and which of them the keys change at the moment."""

    def __init__(
        self,
        hello: Hello,
        nudge: Callable[[str, int, str], object],
        undo: Callable[[], object],
    ):
        super().__init__()
        conditions = hello.protocol.conditions
        self._height = row_height(len(conditions))
        self.chosen = ""
        by_button: Nudge = lambda key, steps: self._press(key, steps, nudge)  # noqa: E731
        self.rows = [
            Row(i, condition, hello.tick_s, self._height, by_button, self.choose)
            for i, condition in enumerate(conditions)
        ]
        self.times = [
            TimeRow(key, cap, hello.tick_s, by_button, self.choose)
            for key, cap in (("hold", "H"), ("quiet", "Q"))
        ]
        self._order = [row.keys[0] for row in self.rows] + ["hold", "quiet"]
        self._heads = self._head_line(unit_words(hello.protocol))
        self._list = Part()
        self._list_column = QVBoxLayout(self._list)
        for row in self.rows:
            self._list_column.addWidget(row)
        self._list_column.addStretch(1)
        self._scroll = QScrollArea()
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setWidgetResizable(True)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._scroll.setWidget(self._list)
        self._left = QVBoxLayout()
        self._left.addLayout(self._heads)
        self._left.addWidget(self._scroll, 1)
        self._right = QVBoxLayout()
        self.delay = Words(delay_words(hello.delay_s), SMALL, "muted")
        self.delay.setToolTip("; ".join(f"{name} {s:.3f} s" for name, s in hello.delays))
        self.undo = Press("take back", CAPS["undo"], undo, SMALL)
        self._right_head = QHBoxLayout()
        self._right_head.addWidget(self.delay, 1)
        self._right_head.addWidget(self.undo)
        self._right.addLayout(self._right_head)
        for time in self.times:
            self._right.addWidget(time, 1)
        self._whole = QHBoxLayout(self)
        self._whole.addLayout(self._left, 1)
        self._whole.addLayout(self._right)
        self.choose(self._order[0])

    def _press(self, key: str, steps: int, nudge: Callable[[str, int, str], object]) -> None:
        self.choose(key)
        nudge(key, steps, "button")

    def _head_line(self, unit: str) -> QHBoxLayout:
        names = ("", "condition", "kept", f"threshold, {unit}", "now", "last min", "met")
        self.heads = [
            Words(name, SMALL, "muted", align=RIGHT if i > 3 else CENTRE if i == 3 else LEFT)
            for i, name in enumerate(names)
        ]
        self._averaging_head = Words("averaging, s", SMALL, "muted", align=RIGHT)
        self._step_heads = [Words("per min", SMALL - 1, "muted", align=CENTRE) for _ in range(2)]
        line = QHBoxLayout()
        for place, words in enumerate(self.heads):
            if place == THRESHOLD:
                threshold = self._threshold_head = QHBoxLayout()
                for part in (self._step_heads[0], words, self._step_heads[1]):
                    threshold.addWidget(part)
                line.addLayout(threshold)
            else:
                line.addWidget(words)
        line.addSpacing(8)
        line.addWidget(self._averaging_head)
        self._averaging_cap = Cap(CAPS["averaging"])
        line.addWidget(self._averaging_cap)
        line.addStretch(1)
        return line

    def fit(self) -> None:
        px = self.look.px
        head = px(20)
        self._heads.setContentsMargins(px(10), 0, px(4), 0)
        self._heads.setSpacing(px(GAP))
        widths = [px(width) for width in columns(self._height)]
        cell = px(SIZES[2 if self._height >= TALL else 1][0])
        for words in self._step_heads:
            words.setFixedSize(cell + px(4), head)
        self._threshold_head.setSpacing(0)
        widths[THRESHOLD] -= 2 * (cell + px(4))
        for words, width in zip(self.heads, widths, strict=True):
            words.setFixedSize(width, head)
        self._averaging_head.setFixedSize(px(averaging_width(self._height) - 24), head)
        self._averaging_cap.setFixedWidth(px(18))
        self.delay.setFixedHeight(head)
        self.undo.setFixedHeight(head)
        self._right_head.setContentsMargins(px(10), 0, px(8), 0)
        for box in (self._left, self._right, self._list_column):
            box.setContentsMargins(0, 0, 0, 0)
            box.setSpacing(0)
        self._whole.setContentsMargins(0, 0, 0, 0)
        self._whole.setSpacing(px(8))
        for time in self.times:
            time.setFixedWidth(px(470))
        self._scroll.setStyleSheet(
            "QScrollArea { background: transparent; } " + scroll_style(self.look)
        )
        self._list.dress(self.look)
        shown = min(max(len(self.rows), 2), 5)
        self.setFixedHeight(head + shown * px(self._height))

    def choose(self, key: str) -> None:
        """Let the keys change the setting under ``key``."""
        self.chosen = key
        for time in self.times:
            time.choose(key)
        for row in self.rows:
            row.choose(key)
            if key in row.keys:
                self._scroll.ensureWidgetVisible(row, 0, 0)

    def choose_row(self, index: int) -> None:
        """Choose the threshold of a condition by its number, from 0."""
        if index < len(self.rows):
            self.choose(self.rows[index].keys[0])

    def step_row(self, rows: int) -> None:
        """Choose the row above (-1) or below (1)."""
        place = self._place() + rows
        self.choose(self._order[max(0, min(place, len(self._order) - 1))])

    def switch(self) -> None:
        """Go from a threshold to its averaging, or back."""
        for row in self.rows:
            if self.chosen in row.keys:
                self.choose(row.keys[1 - row.keys.index(self.chosen)])
                return

    def _place(self) -> int:
        band = self.chosen.split(".")[0]
        return next(i for i, key in enumerate(self._order) if key.split(".")[0] == band)

    def show_status(self, memory: Memory) -> None:
        """Show the settings and the numbers of the moment."""
        for row in self.rows:
            row.show_status(memory)
        for time in self.times:
            time.show_status(memory)

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("panel"))
