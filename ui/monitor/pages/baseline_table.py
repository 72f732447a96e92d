"""The conditions in rows: their amplitudes before and after, and the thresholds on offer."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from PyQt6.QtWidgets import QGridLayout

from engine.protocol import Protocol
from engine.reward.baseline import INHIBIT_SHARE, REWARD_SHARE, Start
from engine.session.stretches import StretchResult
from ui.monitor.pages.form import Button, Line
from ui.monitor.parts import Part, Words
from ui.monitor.wording import NOTHING, amount, band_words, clock, number, percent
from ui.theme import BODY, SMALL

Pairs = Sequence[tuple[str, float]]

BEFORE, AFTER, CHANGE, SHARE, FOUND, LAST, RESCALED = range(1, 8)
HEADS = {
    BEFORE: "before",
    AFTER: "after",
    CHANGE: "change",
    SHARE: "wanted %",
    FOUND: "today's",
    LAST: "last time",
    RESCALED: "rescaled",
}
OFFERS = (FOUND, LAST, RESCALED)
WIDEST = {
    BEFORE: "100.0 ± 100.0",
    AFTER: "100.0 ± 100.0",
    CHANGE: "+100.0 (+100 %)",
    FOUND: "100.0 (met 100 %)",
    LAST: "use as it was ",
    RESCALED: "use rescaled  ",
}
MANY = 8
USE = {FOUND: "Use these thresholds", LAST: "use last", RESCALED: "use rescaled"}


class BaselineTable(Part):
    """``use`` is called with the column whose thresholds are wanted, ``asked`` after an edit."""

    def __init__(
        self, protocol: Protocol, use: Callable[[int], object], asked: Callable[[], object]
    ):
        super().__init__()
        self._conditions = protocol.conditions
        self.cells: dict[tuple[str, int], Words] = {}
        self.shares: dict[str, Line] = {}
        self.uses: dict[int, Button] = {}
        self._grid = QGridLayout(self)
        self._head_rows()
        n = 2
        for n, condition in enumerate(self._conditions, start=2):
            keeps = "above" if condition.direction == "above" else "below"
            name = f"{condition.label} {band_words(condition)}, {keeps}"
            self._grid.addWidget(Words(name, BODY), n, 0)
            for column, widest in WIDEST.items():
                self._cell(condition.band, column, n, widest)
            line = Line("", lambda: None)
            line.setText(f"{100 * (REWARD_SHARE if keeps == 'above' else INHIBIT_SHARE):.0f}")
            line.setAccessibleName(f"{name}: share of time, per cent")
            line.editingFinished.connect(asked)
            self.shares[condition.band] = line
            self._grid.addWidget(line, n, SHARE)
        self._grid.addWidget(Words("clear time", BODY, "muted"), n + 1, 0)
        for column in (BEFORE, AFTER):
            self._cell("clear", column, n + 1, WIDEST[column])
        self._grid.addWidget(Words("points a minute", BODY, "muted"), n + 2, 0)
        for column in OFFERS:
            self._cell("rate", column, n + 2, WIDEST[column])
            button = Button(USE[column], partial(use, column))
            button.setEnabled(False)
            self.uses[column] = button
            self._grid.addWidget(button, n + 3, column)
        self._grid.setColumnStretch(0, 1)

    def _head_rows(self) -> None:
        for column, text, span in ((BEFORE, "amplitude at rest, µV", 3), (SHARE, "thresholds", 4)):
            self._grid.addWidget(Words(text, SMALL, "muted"), 0, column, 1, span)
        for column, text in HEADS.items():
            self._grid.addWidget(Words(text, BODY, "muted"), 1, column)

    def _cell(self, name: str, column: int, row: int, widest: str) -> None:
        words = Words(NOTHING, BODY, "muted", template=widest)
        self.cells[name, column] = words
        self._grid.addWidget(words, row, column)

    def fit(self) -> None:
        px = self.look.px
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(px(8))
        self._grid.setVerticalSpacing(px(4 if len(self._conditions) <= MANY else 2))
        for line in self.shares.values():
            line.setFixedWidth(px(74))

    def _say(self, name: str, column: int, text: str) -> None:
        self.cells[name, column].say(text, "muted" if text == NOTHING else "text")

    # ---- what was measured --------------------------------------------------------------------

    def show_results(self, before: StretchResult | None, after: StretchResult | None) -> None:
        """Show both baselines side by side, and what changed between them."""
        for column, result in ((BEFORE, before), (AFTER, after)):
            for i, condition in enumerate(self._conditions):
                text = NOTHING
                if result is not None:
                    text = f"{amount(result.mean_uv[i])} ± {amount(result.sd_uv[i])}"
                self._say(condition.band, column, text)
            clear = NOTHING
            if result is not None:
                clear = f"{percent(result.clear_share)} of {clock(result.elapsed_s)}"
            self._say("clear", column, clear)
        for i, condition in enumerate(self._conditions):
            text = NOTHING
            if before is not None and after is not None:
                text = _change_words(before.mean_uv[i], after.mean_uv[i])
            self._say(condition.band, CHANGE, text)

    # ---- what is on offer ---------------------------------------------------------------------

    def show_start(self, start: Start | None) -> None:
        """Show the thresholds found in today's baseline, and the rate that they would give."""
        for i, condition in enumerate(self._conditions):
            text = NOTHING
            if start is not None:
                threshold = start.settings.thresholds_uv[i]
                text = f"{amount(threshold)} (met {percent(start.shares[i])})"
            self._say(condition.band, FOUND, text)
        rate = NOTHING
        if start is not None:
            f = start.forecast
            rate = f"{number(f.rate, 0)} ({number(f.low, 0)}–{number(f.high, 0)})"
        self._say("rate", FOUND, rate)
        self.uses[FOUND].setEnabled(start is not None)

    def show_offer(self, column: int, pairs: Pairs | None, rate: str) -> None:
        """Show thresholds of last time in a column; None where there are none to offer."""
        known = dict(pairs or ())
        for condition in self._conditions:
            value = known.get(f"{condition.band}.threshold")
            self._say(condition.band, column, amount(value))
        self._say("rate", column, rate)
        any_of_ours = any(f"{c.band}.threshold" in known for c in self._conditions)
        self.uses[column].setEnabled(any_of_ours)

    def show_used(self, column: int | None) -> None:
        """Say on its button which thresholds are in use."""
        for place, button in self.uses.items():
            first = place == FOUND and column is None and button.isEnabled()
            button.say("in use" if place == column else USE[place], "focus" if first else "")


def _change_words(before: float, after: float) -> str:
    by = after - before
    sign = "+" if by >= 0 else ""
    share = f" ({sign}{100 * by / before:.0f} %)".replace("-", "−") if before else ""
    return f"{sign}{amount(by)}{share}"
