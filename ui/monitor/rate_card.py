"""The number that the desk is built around: the rate of the last minute, in words too.

Below it stands one other rate: since the last change; or, while a line is dragged, what it would
become; or, for a moment, what the last clear minute would have given as things are now set.
"""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtGui import QPainter, QPaintEvent
from PyQt6.QtWidgets import QHBoxLayout, QVBoxLayout

from ui.monitor.buttons import Press
from ui.monitor.keys import CAPS
from ui.monitor.memory import Memory
from ui.monitor.parts import Part, Words
from ui.monitor.wording import (
    about,
    change_words,
    clock,
    goal_words,
    number,
    place_words,
    span_words,
    zone_words,
)
from ui.theme import BODY, FIGURE, LARGE, RATE, SMALL

AGAIN_S = 6.0
"""The last minute scored again is shown so long after a nudge, or after its key."""


class RateCard(Part):
    """The present rate, where it lies, whether it is young, and one other rate below."""

    def __init__(self, again: Callable[[], object]) -> None:
        super().__init__()
        self.caption = Words("points a minute", BODY, "muted")
        self.again = Press("last minute again", CAPS["again"], again, SMALL)
        self.rate = Words("–", RATE, bold=True, template="00.0", digits=True)
        self.zone = Words("", LARGE, bold=True)
        self.young = Words("", BODY)
        self.other_caption = Words("since the last change", BODY, "muted")
        self.other = Words("–", FIGURE, template="00.0", digits=True)
        self.other_words = (Words("", BODY), Words("", SMALL + 1, "muted"))
        self._again_until = 0.0
        self._n_changes = 0
        self._awaited = False
        self._captions, self._others = QHBoxLayout(), QHBoxLayout()
        self._captions.addWidget(self.caption, 1)
        self._captions.addWidget(self.again)
        self._column, self._words = QVBoxLayout(self), QVBoxLayout()
        self._column.addLayout(self._captions)
        for words in (self.rate, self.zone, self.young):
            self._column.addWidget(words, 0, words.place)
        self._column.addStretch(1)
        self._column.addWidget(self.other_caption)
        self._others.addWidget(self.other)
        for words in self.other_words:
            self._words.addWidget(words)
        self._others.addLayout(self._words, 1)
        self._column.addLayout(self._others)

    def fit(self) -> None:
        px = self.look.px
        self._column.setContentsMargins(px(14), px(7), px(10), px(8))
        self._column.setSpacing(px(4))
        self._others.setSpacing(px(10))
        self._words.setSpacing(0)
        self.again.setFixedHeight(px(22))
        self.setFixedWidth(px(300))

    def score_again(self, memory: Memory) -> None:
        """Show the last clear minute scored again, for a moment."""
        self._again_until = memory.now_s + AGAIN_S

    def show_status(self, memory: Memory) -> None:
        """Show the numbers of the moment."""
        status = memory.status
        if status is None:
            return
        zone = memory.hello.protocol.zone
        rate = status.rate
        self.rate.say(number(rate.per_minute, 1), "muted" if rate.per_minute is None else "text")
        within = rate.per_minute is not None and zone[0] <= rate.per_minute <= zone[1]
        self.zone.say(zone_words(rate, zone), "zone" if within else "text")
        clear = f"{rate.clear_s:.0f} s of clear signal"
        if rate.clear_s < 1.0:
            self.young.say("nothing counted yet")
        else:
            self.young.say(f"young: {clear} so far" if rate.young else f"over {clear}")
        self._notice_changes(memory)
        preview = memory.preview
        if preview is not None:
            self._show_preview(memory, *preview)
        elif memory.now_s < self._again_until:
            self._show_again(memory)
        else:
            self._show_since(memory)

    def _notice_changes(self, memory: Memory) -> None:
        """After every nudge the last minute is shown again, once its forecast has come."""
        if memory.n_changes != self._n_changes:
            self._n_changes, self._awaited = memory.n_changes, True
        if self._awaited and memory.foreseen:
            self._awaited = False
            if memory.ahead.last_minute is not None:
                self.score_again(memory)

    def _say(self, caption: str, figure: str, upper: str, lower: str, ink: str = "text") -> None:
        self.other_caption.say(caption)
        self.other.say(figure, ink)
        self.other_words[0].say(upper, "zone" if upper == "in the zone" else "text")
        self.other_words[1].say(lower)

    def _show_preview(self, memory: Memory, key: str, value: float) -> None:
        protocol = memory.hello.protocol
        goal = goal_words(key, value, protocol)
        forecast = memory.previewed
        if forecast is None:
            self._say(f"if {goal}", "–", "cannot be told", "too far from what was seen", "muted")
            return
        place = place_words(forecast.rate, protocol.zone)
        self._say(f"if {goal}", about(forecast.rate), place, span_words(forecast), "focus")

    def _show_again(self, memory: Memory) -> None:
        rate = memory.ahead.last_minute if memory.foreseen else None
        caption = "the last minute would have been"
        if rate is None:
            self._say(caption, "–", "cannot be told", "too little clear signal", "muted")
            return
        place = place_words(rate, memory.hello.protocol.zone)
        self._say(caption, about(rate), place, "as it is set now")

    def _show_since(self, memory: Memory) -> None:
        status = memory.status
        assert status is not None
        since = status.rate_since_change
        ink = "muted" if since.per_minute is None else "text"
        figure = number(since.per_minute, 1)
        if not memory.changes:
            self._say("since the last change", figure, "nothing changed yet", "", ink)
            return
        last = memory.changes[-1]
        what = change_words(last.key, last.old, last.new, memory.hello.protocol)
        ago = f"{clock(memory.now_s - last.time_s)} ago"
        young = "young: " if since.young else "over "
        self._say(f"since {what}", figure, ago, f"{young}{since.clear_s:.0f} s clear", ink)

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("panel"))
