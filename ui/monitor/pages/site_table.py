"""The table of sites, painted: every row seen at once, those of today's hookup marked."""

from __future__ import annotations

from PyQt6.QtCore import QRect, QSize, Qt
from PyQt6.QtGui import QFont, QFontMetrics, QPainter, QPaintEvent
from PyQt6.QtWidgets import QSizePolicy

from engine.practice.head import Head
from ui.monitor.head_picture import MARKS, draw_mark
from ui.monitor.pages.site_rows import COLUMNS, SiteRow, site_rows
from ui.monitor.parts import LEFT, Part
from ui.theme import BODY, SMALL

WIDTHS = (92, 80, 112, 154, 226)
"""Base pixels of the columns; a mark's figure stands before the first."""
GUTTER = 22


class SiteTable(Part):
    """`show_head` fills it; ``marks`` are the names of sites by what they are today."""

    def __init__(self, marks: dict[str, tuple[str, ...]]):
        super().__init__()
        self.rows: tuple[SiteRow, ...] = site_rows(None)
        self._marks = marks
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)

    def show_head(self, head: Head | None) -> None:
        """Show the distances of a head, or only the landmarks."""
        self.rows = site_rows(head)
        self.update()

    def show_marks(self, marks: dict[str, tuple[str, ...]]) -> None:
        """Mark other sites."""
        self._marks = marks
        self.update()

    def mark_of(self, site: str) -> str:
        """Return what a site is today, empty where it is nothing."""
        ears = {"A1": "M1", "A2": "M2"}
        both = {site, ears.get(site, site)}
        return next((kind for kind in MARKS if both & set(self._marks.get(kind, ()))), "")

    def sizeHint(self) -> QSize:
        px = self.look.px
        return QSize(px(sum(WIDTHS) + GUTTER), px(19 * (len(self.rows) + 1)))

    def minimumSizeHint(self) -> QSize:
        px = self.look.px
        return QSize(px(sum(WIDTHS)), px(17 * (len(self.rows) + 1)))

    @property
    def row_height(self) -> int:
        """Height of a row in pixels."""
        return min(self.look.px(28), self.height() // (len(self.rows) + 1))

    def fits(self) -> bool:
        """Whether every cell has room for its words."""
        thin, thick = (QFontMetrics(self._font_of(bold)) for bold in (False, True))
        wide = all(
            (thick if i in (0, 3) else thin).horizontalAdvance(cell) <= self.look.px(width)
            for row in self.rows
            for i, (cell, width) in enumerate(zip(row.cells, self._widths(), strict=True))
        )
        return wide and thick.height() <= self.row_height + 1

    def _font_of(self, bold: bool) -> QFont:
        size = BODY if self.row_height >= self.look.px(20) else SMALL + 1
        return self.look.font(size, bold)

    def _widths(self) -> tuple[float, ...]:
        spare = max(0.0, self.width() / self.look.scale - GUTTER - sum(WIDTHS))
        return (*WIDTHS[:-1], WIDTHS[-1] + spare)

    def paintEvent(self, event: QPaintEvent | None) -> None:
        painter, look = QPainter(self), self.look
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        tall = self.row_height
        self._write(painter, 0, COLUMNS, "muted", False)
        for i, row in enumerate(self.rows, start=1):
            mark = self.mark_of(row.site)
            if mark:
                painter.fillRect(0, i * tall, self.width(), tall, look.colour("focus_ground"))
                middle = i * tall + tall / 2
                draw_mark(painter, look, mark, look.px(11), middle, look.px(6))
            if row.begins_line:
                painter.setPen(look.colour("line"))
                painter.drawLine(0, i * tall, self.width(), i * tall)
            ink = "muted" if row.is_mark else "text"
            self._write(painter, i * tall, row.cells, ink, bool(mark))

    def _write(
        self, painter: QPainter, top: int, cells: tuple[str, ...], ink: str, bold: bool
    ) -> None:
        px = self.look.px
        left = px(GUTTER)
        for i, (cell, width) in enumerate(zip(cells, self._widths(), strict=True)):
            strong = i == 3 or (bold and i == 0)
            painter.setFont(self._font_of(strong))
            quiet = i in (1, 4) or (i == 2 and not bold)
            painter.setPen(self.look.colour("muted" if quiet else ink))
            box = QRect(left, top, px(width), self.row_height)
            painter.drawText(box, int(LEFT | Qt.TextFlag.TextSingleLine), cell)
            left += px(width)
