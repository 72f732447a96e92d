"""How far a baseline or a check is: a bar, and the same in words."""

from __future__ import annotations

from PyQt6.QtCore import QRectF, QSize, Qt
from PyQt6.QtGui import QPainter, QPaintEvent, QPen
from PyQt6.QtWidgets import QSizePolicy, QVBoxLayout

from engine.session.stretches import StretchView
from ui.monitor.parts import Part, Words
from ui.monitor.wording import clock, percent, reasons_words
from ui.theme import BODY, LARGE


class Bar(Part):
    """A share of a whole, 0-1."""

    def __init__(self) -> None:
        super().__init__()
        self.share = 0.0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_share(self, share: float) -> None:
        """Show another share."""
        if share != self.share:
            self.share = share
            self.update()

    def sizeHint(self) -> QSize:
        return QSize(self.look.px(120), self.look.px(16))

    def paintEvent(self, event: QPaintEvent | None) -> None:
        painter, look = QPainter(self), self.look
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.colour("ground"))
        painter.drawRect(box)
        filled = QRectF(box.left(), box.top(), box.width() * self.share, box.height())
        painter.setBrush(look.colour("zone"))
        painter.drawRect(filled)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(look.colour("muted"), 1))
        painter.drawRect(box)


class StretchBar(Part):
    """`show_view` follows what runs; without it the bar rests."""

    def __init__(self) -> None:
        super().__init__()
        self.big = Words("", LARGE, bold=True)
        self.bar = Bar()
        self.small = Words("", BODY, "muted")
        self.now = Words("", BODY, "muted")
        self._column = QVBoxLayout(self)
        for part in (self.big, self.bar, self.small, self.now):
            self._column.addWidget(part)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.show_view(None)

    def fit(self) -> None:
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(self.look.px(4))

    def show_view(self, view: StretchView | None) -> None:
        """Show how far a stretch is, and whether the signal counts now."""
        if view is None:
            self.bar.show_share(0.0)
            for words, text in ((self.big, "nothing runs"), (self.small, ""), (self.now, "")):
                words.say(text, "muted")
            return
        self.bar.show_share(view.progress)
        of = "clear" if view.counts_clear else "gone by"
        self.big.say(f"{clock(view.counted_s)} of {clock(view.wanted_s)} {of}", "text")
        share = view.clear_s / view.elapsed_s if view.elapsed_s else float("nan")
        self.small.say(f"{clock(view.elapsed_s)} so far, {percent(share)} of it clear")
        if view.reasons:
            hidden = "not counted" if view.counts_clear else "hidden"
            self.now.say(f"{hidden}: {reasons_words(view.reasons)}", "hidden")
        else:
            self.now.say("the signal is clear now", "muted")
