"""What is on screen before the first stream is understood."""

from __future__ import annotations

from PyQt6.QtGui import QPainter, QPaintEvent
from PyQt6.QtWidgets import QVBoxLayout

from engine.session.messages import Remark
from ui.monitor.parts import CENTRE, Part, Words
from ui.theme import BODY, LARGE

N_REMARKS = 5


class StartPage(Part):
    """Says what is awaited, and what the host says meanwhile."""

    def __init__(self) -> None:
        super().__init__()
        self.big = Words("Looking for the stream", 56, bold=True, align=CENTRE)
        self.small = Words(
            "The desk opens as soon as samples arrive and their rate is measured.",
            LARGE,
            align=CENTRE,
        )
        self.remarks = [Words("", LARGE - 2, "muted", align=CENTRE) for _ in range(N_REMARKS)]
        self.keys = Words(
            "F1 keys    F4 dark or light    Ctrl+Q close", BODY, "muted", align=CENTRE
        )
        self._column = QVBoxLayout(self)
        self._column.addStretch(3)
        for words in (self.big, self.small):
            self._column.addWidget(words)
        self._column.addStretch(1)
        for words in self.remarks:
            self._column.addWidget(words)
        self._column.addStretch(3)
        self._column.addWidget(self.keys)

    def fit(self) -> None:
        self._column.setSpacing(self.look.px(8))
        self._column.setContentsMargins(*(self.look.px(24),) * 4)

    def tell(self, remark: Remark) -> None:
        """Add one sentence from the host; the oldest makes room."""
        for words, later in zip(self.remarks, self.remarks[1:], strict=False):
            words.say(later.text)
        self.remarks[-1].say(remark.text, "lost" if remark.grave else "muted")

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("ground"))
