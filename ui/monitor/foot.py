"""The line at the foot of every page but the training's: the newest sentence from the host."""

from __future__ import annotations

from PyQt6.QtGui import QPainter, QPaintEvent
from PyQt6.QtWidgets import QHBoxLayout

from engine.session.messages import Remark
from ui.monitor.parts import Part, Words
from ui.theme import BODY, SMALL

FOOT_HEIGHT = 30.0
KEYS = "F1 keys    Esc stop    F12 adverse effect    Ctrl+Q close"


class Foot(Part):
    """A sentence at the left, the keys that hold everywhere at the right."""

    def __init__(self) -> None:
        super().__init__()
        self.remark = Words("", BODY)
        self.keys = Words(KEYS, SMALL, "muted", template=KEYS)
        self._row = QHBoxLayout(self)
        self._row.addWidget(self.remark, 1)
        self._row.addWidget(self.keys)

    def fit(self) -> None:
        px = self.look.px
        self._row.setContentsMargins(px(12), px(2), px(12), px(2))
        self._row.setSpacing(px(12))
        self.setFixedHeight(px(FOOT_HEIGHT))

    def tell(self, remark: Remark) -> None:
        """Show one sentence from the host; it stays until the next."""
        self.remark.say(remark.text, "lost" if remark.grave else "text")

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("panel"))
