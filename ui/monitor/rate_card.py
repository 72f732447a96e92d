"""The number that the desk is built around: the rate of the last minute, in words too."""

from __future__ import annotations

from PyQt6.QtGui import QPainter, QPaintEvent
from PyQt6.QtWidgets import QVBoxLayout

from ui.monitor.memory import Memory
from ui.monitor.parts import Part, Words
from ui.monitor.wording import change_words, clock, number, zone_words
from ui.theme import BODY, FIGURE, LARGE, RATE, SMALL


class RateCard(Part):
    """The present rate, where it lies, whether it is young, and the rate since the last change."""

    def __init__(self) -> None:
        super().__init__()
        self.caption = Words("points a minute", BODY, "muted")
        self.rate = Words("–", RATE, bold=True, template="00.0", digits=True)
        self.zone = Words("", LARGE, bold=True)
        self.young = Words("", BODY)
        self.since_caption = Words("since the last change", BODY, "muted")
        self.since = Words("–", FIGURE, template="00.0", digits=True)
        self.since_words = Words("", SMALL + 1)
        self._column = QVBoxLayout(self)
        for words in (self.caption, self.rate, self.zone, self.young):
            self._column.addWidget(words, 0, words.place)
        self._column.addStretch(1)
        for words in (self.since_caption, self.since, self.since_words):
            self._column.addWidget(words, 0, words.place)

    def fit(self) -> None:
        px = self.look.px
        self._column.setContentsMargins(px(14), px(8), px(10), px(8))
        self._column.setSpacing(px(5))
        self.setFixedWidth(px(300))

    def show_status(self, memory: Memory) -> None:
        """Show the numbers of the moment."""
        status = memory.status
        if status is None:
            return
        zone = memory.hello.protocol.zone
        rate, since = status.rate, status.rate_since_change
        self.rate.say(number(rate.per_minute, 1), "muted" if rate.per_minute is None else "text")
        inside = rate.per_minute is not None and zone[0] <= rate.per_minute <= zone[1]
        self.zone.say(zone_words(rate, zone), "zone" if inside else "text")
        clear = f"{rate.clear_s:.0f} s of clear signal"
        if rate.clear_s < 1.0:
            self.young.say("nothing counted yet")
        else:
            self.young.say(f"young: {clear} so far" if rate.young else f"over {clear}")
        self.since.say(number(since.per_minute, 1), "muted" if since.per_minute is None else "text")
        self.since_words.say(self._since_words(memory))

    @staticmethod
    def _since_words(memory: Memory) -> str:
        status = memory.status
        assert status is not None
        since = status.rate_since_change
        if not memory.changes:
            return "nothing has been changed yet"
        last = memory.changes[-1]
        what = change_words(last.key, last.old, last.new, memory.hello.protocol)
        young = "young, " if since.young else ""
        return f"{young}{clock(memory.now_s - last.time_s)} ago: {what}"

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("panel"))
