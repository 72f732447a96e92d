"""The strip at the top: the state in words, the hold as it runs, points, time, three buttons.

A bar at its foot grows with the round.
"""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtCore import QRectF, QSize, Qt
from PyQt6.QtGui import QBrush, QFontMetrics, QPainter, QPaintEvent
from PyQt6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout

from engine.events import State
from engine.session.messages import Status
from ui.monitor.buttons import Press
from ui.monitor.keys import CAPS
from ui.monitor.memory import Memory
from ui.monitor.parts import LEFT, RIGHT, Part, Words
from ui.monitor.wording import NOTHING, clock, headline
from ui.theme import FIGURE, LARGE, SMALL

HIDDEN_FOR_S = 0.6
"""A hidden moment is named at least so long, so that it can be read."""

GROUNDS = {"lost": "lost", "rest": "rest", "ended": "raised"}


class Cycle(Part):
    """Waiting, holding, quiet, each in its place: the hold fills, the quiet time runs out."""

    NAMES = ("waiting", "holding", "quiet")
    SHARES = (0.27, 0.44, 0.29)

    def __init__(self) -> None:
        super().__init__()
        self._state = State.STOPPED
        self._progress = self._quiet = 0.0
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        return QSize(self.look.px(250), self.look.px(48))

    def show_state(self, state: State, progress: float, quiet: float) -> None:
        """Show a state; progress of the hold and of the quiet time, 0-1."""
        if (state, progress, quiet) != (self._state, self._progress, self._quiet):
            self._state, self._progress, self._quiet = state, progress, quiet
            self.update()

    @property
    def text(self) -> str:
        """The state as it is named here."""
        return "hidden" if self._state is State.OBSCURED else self._state.value

    def paintEvent(self, event: QPaintEvent | None) -> None:
        painter, look = QPainter(self), self.look
        font, bold = look.font(SMALL + 1), look.font(SMALL + 1, bold=True)
        line = QFontMetrics(font).height()
        left, gap, bar = 0.0, look.px(4), self.height() - line - look.px(4)
        active = {State.WAITING: 0, State.HOLDING: 1, State.QUIET: 2}.get(self._state)
        fills = (1.0 if active == 0 else 0.0, self._progress, self._quiet)
        width = self.width() - 2 * gap
        for place, (name, share, filled) in enumerate(
            zip(self.NAMES, self.SHARES, fills, strict=True)
        ):
            box = QRectF(left, 0, round(width * share), bar)
            painter.fillRect(box, look.colour("raised"))
            if place == active:
                ink = look.colour("focus" if place == 1 else "muted")
                painter.fillRect(QRectF(left, 0, round(box.width() * filled), bar), ink)
            elif self._state is State.OBSCURED:
                painter.fillRect(box, QBrush(look.colour("hidden"), Qt.BrushStyle.BDiagPattern))
            painter.setFont(bold if place == active else font)
            painter.setPen(look.colour("text" if place == active else "muted"))
            below = QRectF(left, self.height() - line, box.width(), line)
            painter.drawText(below, int(LEFT), name)
            left += box.width() + gap


class Headline(Part):
    """State, cycle, points, time left, and Start, Rest, Stop."""

    def __init__(self, do: Callable[[str], object]) -> None:
        super().__init__()
        self._tone = "calm"
        self._passed = 0.0
        self.big = Words(size=38, bold=True)
        self.small = Words(size=LARGE - 2)
        self.cycle = Cycle()
        self.points = Words("0", FIGURE, align=RIGHT, template="000", digits=True)
        self.points_caption = Words("points", SMALL + 1, "muted", align=RIGHT, template="points")
        self.left = Words("–", FIGURE, align=RIGHT, template="00:00", digits=True)
        self.left_caption = Words(
            "", SMALL + 1, "muted", align=RIGHT, template="left of round 00 of 00"
        )
        self.start = Press("Start", CAPS["start"], lambda: do("start"), 17)
        self.rest = Press("Rest", CAPS["rest"], lambda: do("rest"), 17)
        self.stop = Press("Stop", CAPS["stop"], lambda: do("stop"), 17)
        self._blocks = [
            self._block(self.big, self.small),
            self._block(self.points, self.points_caption),
            self._block(self.left, self.left_caption),
        ]
        row = QHBoxLayout(self)
        row.addLayout(self._blocks[0], 1)
        row.addWidget(self.cycle)
        row.addLayout(self._blocks[1])
        row.addLayout(self._blocks[2])
        row.addSpacing(8)
        for button in (self.start, self.rest, self.stop):
            row.addWidget(button)

    @staticmethod
    def _block(upper: Words, lower: Words) -> QVBoxLayout:
        column = QVBoxLayout()
        column.addStretch(1)
        for words in (upper, lower):
            column.addWidget(words, 0, words.place)
        column.addStretch(1)
        return column

    def fit(self) -> None:
        look, row = self.look, self.layout()
        assert row is not None
        row.setContentsMargins(look.px(16), look.px(4), look.px(12), look.px(4))
        row.setSpacing(look.px(14))
        for column in self._blocks:
            column.setSpacing(look.px(1))
        for button in (self.start, self.rest, self.stop):
            button.setFixedSize(look.px(100), look.px(46))
        self.setFixedHeight(look.px(70))

    def show_now(self, memory: Memory) -> None:
        """Show the newest tick: called for every frame."""
        tick, settings = memory.ticks.latest, memory.settings
        if tick is not None:
            quiet = memory.ticks.quiet_elapsed_s / settings.quiet_s if settings.quiet_s else 0.0
            self.cycle.show_state(tick.state, tick.progress, min(1.0, quiet))

    def show_status(self, memory: Memory) -> None:
        """Show the state in words and the numbers of the moment."""
        status = memory.status
        if status is None:
            return
        span = memory.ticks.hidden_since(HIDDEN_FOR_S)
        words = headline(status, span.reasons if span else None)
        if words.tone != self._tone:
            self._tone = words.tone
            self.update()
        passed = self._share_passed(status)
        if passed != self._passed:
            self._passed = passed
            self.update()
        strong = words.tone in ("lost", "rest")
        ink, quiet = ("on_strong", "on_strong") if strong else ("text", "muted")
        hidden = words.tone == "hidden"
        self.big.say(words.big, "hidden" if hidden else ink)
        self.small.say(words.small, "text" if hidden else quiet)
        self.cycle.setVisible(status.phase == "training" and words.tone != "lost")
        self.points.say(str(status.points), ink)
        self.points_caption.say("points", quiet)
        self.left.say(self._time_left(memory), ink)
        self.left_caption.say(self._time_caption(memory), quiet)
        for button in (self.start, self.rest, self.stop):
            button.faint = quiet
        training = status.phase == "training"
        self.start.setEnabled(not training and status.stream_ok)
        self.rest.setEnabled(training)
        self.stop.setEnabled(status.phase in ("training", "rest"))
        self.stop.say("Stop", "focus" if training else "")
        self.start.say("Start", "focus" if status.phase == "ready" else "")

    @property
    def passed(self) -> float:
        """How much of the round is over, 0-1, as the bar at the foot shows it."""
        return self._passed

    @staticmethod
    def _share_passed(status: Status) -> float:
        if status.phase != "training" or status.round_length_s <= 0:
            return 0.0
        return round(min(1.0, status.round_elapsed_s / status.round_length_s), 3)

    @staticmethod
    def _time_left(memory: Memory) -> str:
        status = memory.status
        assert status is not None
        if status.phase == "training" and status.round_length_s <= 0:
            return clock(status.round_elapsed_s)
        if status.phase in ("training", "rest") and status.phase_left_s > 0:
            return clock(status.phase_left_s + 0.999)
        return NOTHING

    @staticmethod
    def _time_caption(memory: Memory) -> str:
        status, rounds = memory.status, memory.hello.protocol.rounds
        assert status is not None
        if status.phase == "rest":
            return "left of the rest"
        if status.phase == "training":
            kind = "left of round" if status.round_length_s > 0 else "round"
            return f"{kind} {status.round_number} of {rounds.count}"
        return f"{status.round_number} of {rounds.count} rounds"

    def paintEvent(self, event: QPaintEvent | None) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.look.colour(GROUNDS.get(self._tone, "panel")))
        if self._passed:
            height = self.look.px(4)
            bar = QRectF(0, self.height() - height, self.width() * self._passed, height)
            strong = self._tone in ("lost", "rest")
            painter.fillRect(bar, self.look.colour("on_strong" if strong else "muted"))
