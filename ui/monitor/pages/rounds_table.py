"""Baselines and rounds as rows of numbers, so that they can be compared down a column."""

from __future__ import annotations

from dataclasses import dataclass

from PyQt6.QtCore import QRectF, QSize, Qt
from PyQt6.QtGui import QFontMetrics, QPainter, QPaintEvent
from PyQt6.QtWidgets import QSizePolicy

from engine.lookback.review import Piece, Review
from ui.monitor.parts import LEFT, RIGHT, Part
from ui.monitor.wording import NOTHING, amount, clock, number, percent
from ui.theme import BODY, SMALL

ROW = 20.0
NAME = 130.0


@dataclass(frozen=True)
class TableRow:
    """``cells`` in the order of the heads; ``strong`` sets them apart."""

    name: str
    cells: tuple[str, ...]
    strong: bool = False


def heads_of(seen: Review, bands: tuple[int, ...]) -> tuple[str, ...]:
    """Return what stands above the columns."""
    labels = [seen.course.conditions[i].label for i in bands]
    return ("time", "clear", *labels, "points", "a minute", "as at first")


def rows_of(seen: Review, bands: tuple[int, ...], most: int) -> tuple[TableRow, ...]:
    """Return at most ``most`` rows: baselines, the last rounds, and the whole."""
    rounds = [_row(piece, bands) for piece in seen.rounds]
    first = [_row(seen.before, bands, False)] if seen.before else []
    last = [_row(seen.after, bands, False)] if seen.after else []
    if len(seen.rounds) > 1:
        last.append(_row(seen.whole, bands, strong=True))
    room = max(1, most - len(first) - len(last))
    return tuple([*first, *rounds[-room:], *last][:most])


def _row(
    piece: Piece, bands: tuple[int, ...], trained: bool = True, strong: bool = False
) -> TableRow:
    points = (
        (str(piece.points), number(piece.rate, 1), number(piece.fixed_rate, 1))
        if trained
        else (NOTHING,) * 3
    )
    means = tuple(amount(piece.mean_uv[i]) for i in bands)
    cells = (clock(piece.total_s), percent(piece.clear_share), *means, *points)
    return TableRow(piece.name, cells, strong)


class RoundsTable(Part):
    """`show_review` fills it; the oldest rounds go where there is no room for all."""

    def __init__(self) -> None:
        super().__init__()
        self._seen: Review | None = None
        self._bands: tuple[int, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def show_review(self, seen: Review, bands: tuple[int, ...]) -> None:
        """Show a session's rows, with a column for each of these bands."""
        self._seen, self._bands = seen, bands
        self.update()

    @property
    def most(self) -> int:
        """How many rows find room below the heads."""
        return max(1, int((self.height() - self.look.px(ROW)) // self.look.px(ROW)))

    @property
    def rows(self) -> tuple[TableRow, ...]:
        """The rows that are shown."""
        return rows_of(self._seen, self._bands, self.most) if self._seen else ()

    def minimumSizeHint(self) -> QSize:
        return QSize(self.look.px(300), self.look.px(3 * ROW))

    def paintEvent(self, event: QPaintEvent | None) -> None:
        if self._seen is None:
            return
        painter, look = QPainter(self), self.look
        heads = heads_of(self._seen, self._bands)
        tall, name = look.px(ROW), look.px(NAME)
        wide = (self.width() - name) / len(heads)
        painter.setFont(look.font(SMALL))
        painter.setPen(look.colour("muted"))
        metrics = QFontMetrics(painter.font())
        for i, head in enumerate(heads):
            box = QRectF(name + i * wide, 0, wide - look.px(4), tall)
            text = metrics.elidedText(head, Qt.TextElideMode.ElideRight, int(box.width()))
            painter.drawText(box, int(RIGHT), text)
        for n, row in enumerate(self.rows, start=1):
            painter.setPen(look.colour("line"))
            painter.drawLine(0, n * tall, self.width(), n * tall)
            painter.setFont(look.font(BODY, bold=row.strong))
            painter.setPen(look.colour("text"))
            painter.drawText(QRectF(0, n * tall, name, tall), int(LEFT), row.name)
            for i, cell in enumerate(row.cells):
                box = QRectF(name + i * wide, n * tall, wide - look.px(4), tall)
                painter.drawText(box, int(RIGHT), cell)
