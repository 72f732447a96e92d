"""The limits for muscle and blinks in rows: those in force, those proposed, and what each does."""

from __future__ import annotations

from PyQt6.QtWidgets import QGridLayout

from engine.practice.check import MUSCLE, CheckProposal, LimitProposal
from ui.monitor.pages.form import Said
from ui.monitor.parts import Part, Words
from ui.monitor.wording import NOTHING, percent
from ui.theme import BODY, SMALL

HEADS = ("", "limit", "hides of rest", "catches")
WIDEST = ("proposed ", "1000 µV ", "hides of rest ", "100 % (10 of 10 s of clench) ")


class CheckLimits(Part):
    """`show_proposal` fills it; ``cells`` holds the words by key and row, ``now`` or ``new``."""

    def __init__(self) -> None:
        super().__init__()
        self.cells: dict[tuple[str, str], tuple[Words, Words, Words]] = {}
        self.words: dict[str, Said] = {}
        self._grid = QGridLayout(self)
        self._shown: CheckProposal | None = None

    def fit(self) -> None:
        px = self.look.px
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(px(14))
        self._grid.setVerticalSpacing(px(2))

    def show_limits(self, limits: tuple[tuple[str, float], ...]) -> None:
        """Show what is in force, as long as nothing is proposed."""
        self._make(tuple(key for key, _ in limits))
        if self._shown is None:
            for key, value in limits:
                self._say(key, "now", (f"{value:g} µV", NOTHING, NOTHING))
                self._say(key, "new", (NOTHING, NOTHING, NOTHING))

    def show_proposal(self, proposal: CheckProposal) -> None:
        """Show each limit as it is and as it could be."""
        self._make(tuple(one.key for one in proposal.limits))
        self._shown = proposal
        for one in proposal.limits:
            now = (one.now_uv, one.now_rest_share, one.now_caught_share, "")
            self._say(one.key, "now", _cells(*now))
            new = (one.value_uv, one.rest_share, one.caught_share, _counted(one))
            self._say(one.key, "new", _cells(*new))
            self.words[one.key].say(one.words)

    def _say(self, key: str, row: str, texts: tuple[str, str, str]) -> None:
        for cell, text in zip(self.cells[key, row], texts, strict=True):
            cell.say(text)

    def _make(self, keys: tuple[str, ...]) -> None:
        if self.words:
            return
        n = 0
        for column, head in enumerate(HEADS):
            words = Words(head, SMALL, "muted", template=WIDEST[column])
            self._grid.addWidget(words, n, column)
        for key in keys:
            n += 1
            self._grid.addWidget(Words(name_of(key), BODY, bold=True, template="muscle  "), n, 0)
            self.words[key] = Said(ink="muted")
            self._grid.addWidget(self.words[key], n, 1, 1, len(HEADS))
            for row, title in (("now", "today"), ("new", "proposed")):
                n += 1
                bold = row == "new"
                self._grid.addWidget(Words(title, BODY, "muted", template=WIDEST[0]), n, 0)
                cells = (
                    Words("", BODY, bold=bold, template=WIDEST[1]),
                    Words("", BODY, bold=bold, template=WIDEST[2]),
                    Words("", BODY, bold=bold, template=WIDEST[3]),
                )
                self.cells[key, row] = cells
                for column, cell in enumerate(cells, start=1):
                    self._grid.addWidget(cell, n, column)
        self._grid.setColumnStretch(len(HEADS), 1)
        self.dress(self.look)


def name_of(key: str) -> str:
    """Name what a limit is about: ``muscle``, ``blink``."""
    return key.rpartition(".")[2]


def _cells(
    value: float | None, rest: float | None, caught: float | None, counted: str
) -> tuple[str, str, str]:
    catches = NOTHING if caught is None else f"{percent(caught)}{counted}"
    return (
        NOTHING if value is None else f"{value:g} µV",
        NOTHING if rest is None else percent(rest),
        catches,
    )


def _counted(one: LimitProposal) -> str:
    if not one.n_shown:
        return ""
    what = "s of clench" if one.key == MUSCLE else "blinks"
    return f" ({one.n_caught} of {one.n_shown} {what})"
