"""The one sentence of advice, with the key that does what it says; the second best, quieter."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtCore import Qt
from PyQt6.QtWidgets import QHBoxLayout

from engine.reward.advice import Change
from ui.monitor.buttons import Press
from ui.monitor.keys import CAPS
from ui.monitor.memory import Memory
from ui.monitor.parts import Part, Words
from ui.monitor.wording import advice_words, runner_up_words
from ui.theme import BODY, SMALL

WAITING = "The forecast begins with the first samples."


class AdviceLine(Part):
    """A button where there is something to do, plain words where there is not."""

    def __init__(self, nudge: Callable[[Change], object]):
        super().__init__()
        self._nudge = nudge
        self._change: Change | None = None
        self.button = Press("", CAPS["advised"], self.follow, BODY + 1)
        self.words = Words(WAITING, BODY + 1, "muted")
        self.runner_up = Words("", SMALL + 1, "muted")
        self._row = QHBoxLayout(self)
        self._row.addWidget(self.button)
        self._row.addWidget(self.words, 1)
        self._row.addWidget(self.runner_up, 1)
        self.button.hide()

    def fit(self) -> None:
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(self.look.px(12))
        self.setFixedHeight(self.look.px(30))
        self.button.setFixedHeight(self.look.px(29))

    @property
    def sentence(self) -> str:
        """What is said now."""
        return self.words.text if self.button.isHidden() else self.button.text()

    def follow(self) -> None:
        """Make exactly the change that is shown, unless it is no longer of these settings."""
        if self._change is not None:
            self._nudge(self._change)

    def show_status(self, memory: Memory) -> None:
        """Show the advice of the moment."""
        ahead, protocol = memory.ahead, memory.hello.protocol
        self._change = ahead.change(memory.settings, memory.now_s)
        advice, foresight = ahead.advice, ahead.foresight
        if advice is None or foresight is None:
            return
        sentence = advice_words(advice, foresight.outlook.clear_s, protocol)
        to_do = advice.change is not None
        self.button.setVisible(to_do)
        self.words.setVisible(not to_do)
        self.runner_up.setVisible(to_do)
        self.button.setEnabled(self._change is not None)
        self.button.setCursor(
            Qt.CursorShape.PointingHandCursor if self._change else Qt.CursorShape.ArrowCursor
        )
        second = advice.runner_up
        if to_do:
            self.button.say(sentence)
            self.button.updateGeometry()
            self.runner_up.say(runner_up_words(second, protocol) if second else "")
        else:
            self.words.say(sentence, "text" if memory.foreseen else "muted")
