"""The rows of the settings table: one a condition, and one each for hold and quiet time."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtCore import QRectF
from PyQt6.QtGui import QMouseEvent, QPainter, QPaintEvent
from PyQt6.QtWidgets import QHBoxLayout, QVBoxLayout

from engine.protocol import Condition
from ui.monitor.buttons import Stepper
from ui.monitor.memory import Memory
from ui.monitor.parts import CENTRE, LEFT, RIGHT, Cap, Part, Words
from ui.monitor.wording import amount, band_words, effective_words, n_ticks, percent
from ui.theme import BODY, FIGURE, LARGE, SMALL

Nudge = Callable[[str, int], object]
Choose = Callable[[str], object]

TALL = 40.0
"""A row as tall has room for two lines and large digits."""
GAP = 6
MIDDLE = 20.0


def columns(height: float) -> tuple[int, ...]:
    """Return base widths: key, condition, direction, threshold, now, last minute, met."""
    return (22, 113, 48, 302, 60, 60, 70) if height >= TALL else (22, 172, 48, 274, 56, 56, 68)


def averaging_width(height: float) -> int:
    """Return the base width of the averaging."""
    return 126 if height >= TALL else 104


class Row(Part):
    """One condition: what it is, its threshold and averaging, and how it fares."""

    def __init__(
        self,
        index: int,
        condition: Condition,
        tick_s: float,
        height: float,
        nudge: Nudge,
        choose: Choose,
    ):
        super().__init__()
        self.keys = (f"{condition.band}.threshold", f"{condition.band}.averaging")
        self._index, self._tick_s, self._height, self._choose = index, tick_s, height, choose
        self._chosen = ""
        size = min(FIGURE, 0.92 * height)
        middle = min(MIDDLE, 0.6 * height)
        threshold, averaging = self.keys
        self.effective = Words("", SMALL - 1, "muted", align=CENTRE)
        self.cap = Cap(str(index + 1) if index < 9 else "↓")
        tall = height >= TALL
        self.name = Words(condition.label, LARGE if tall else BODY, bold=True)
        self.band = Words(band_words(condition), SMALL, "muted")
        self.direction = Words(condition.direction, BODY, align=LEFT)
        self.threshold = Stepper(
            size,
            "00.00",
            lambda n: nudge(threshold, n),
            lambda: choose(threshold),
            lines=2 if tall else 1,
        )
        self.now = Words(size=middle, align=RIGHT, template="00.00", digits=True)
        self.mean = Words(size=middle, align=RIGHT, template="00.00", digits=True)
        self.met = Words(size=middle, align=RIGHT, template="100 %", digits=True)
        self.averaging = Stepper(
            middle,
            "0.00",
            lambda n: nudge(averaging, n),
            lambda: choose(averaging),
            lines=0,
            below=self.effective,
        )
        if not tall:
            for below in (*self.averaging.foretold, self.effective):
                below.hide()
        self._names = QVBoxLayout()
        self._names.addStretch(1)
        self._names.addWidget(self.name)
        if tall:
            self._names.addWidget(self.band)
        else:
            self.name.say(f"{condition.label} {band_words(condition)}")
        self._names.addStretch(1)
        self._row = QHBoxLayout(self)
        self._row.addWidget(self.cap)
        self._row.addLayout(self._names)
        for part in (self.direction, self.threshold, self.now, self.mean, self.met):
            self._row.addWidget(part)
        self._row.addSpacing(8)
        self._row.addWidget(self.averaging)
        self._row.addStretch(1)

    def fit(self) -> None:
        px = self.look.px
        self.setFixedHeight(px(self._height))
        self._row.setContentsMargins(px(10), 0, px(4), 0)
        self._row.setSpacing(px(GAP))
        self._names.setSpacing(0)
        parts = (self.cap, self.name, self.direction, self.threshold, self.now, self.mean, self.met)
        for part, width in zip(parts, columns(self._height), strict=True):
            part.setFixedWidth(px(width))
        self.averaging.setFixedWidth(px(averaging_width(self._height)))

    def choose(self, key: str) -> None:
        """Mark the setting that the keys change, if it is one of this row's."""
        self._chosen = key if key in self.keys else ""
        self.threshold.figure.say(self.threshold.figure.text, ink_of(key == self.keys[0]))
        self.averaging.figure.say(self.averaging.figure.text, ink_of(key == self.keys[1]))
        self.update()

    def show_status(self, memory: Memory) -> None:
        """Show the settings and the numbers of the moment."""
        status, settings, tick = memory.status, memory.settings, memory.ticks.latest
        i = self._index
        self.threshold.figure.say(
            amount(settings.thresholds_uv[i]), ink_of(self._chosen == self.keys[0])
        )
        averaging_s = settings.averaging_s[i]
        self.averaging.figure.say(amount(averaging_s), ink_of(self._chosen == self.keys[1]))
        self.effective.say(effective_words(averaging_s, self._tick_s))
        self.threshold.foretell(memory, self.keys[0])
        self.averaging.foretell(memory, self.keys[1])
        if tick is not None and status is not None:
            self.now.say(amount(tick.amplitudes_uv[i] if status.stream_ok else None))
            self.mean.say(amount(status.mean_uv[i]))
            self.met.say(percent(status.met_share[i]))

    def mousePressEvent(self, event: QMouseEvent | None) -> None:
        self._choose(self.keys[0])

    def paintEvent(self, event: QPaintEvent | None) -> None:
        paint_row(self, bool(self._chosen))


class TimeRow(Part):
    """Hold or quiet time, with the time that counts on the tick grid."""

    def __init__(self, key: str, cap: str, tick_s: float, nudge: Nudge, choose: Choose):
        super().__init__()
        self.key = key
        self._tick_s, self._choose, self._chosen = tick_s, choose, False
        self.cap = Cap(cap)
        self.name = Words(f"{key} time", LARGE - 2, bold=True)
        self.effective = Words("", SMALL - 1, "muted")
        self.stepper = Stepper(FIGURE, "00.00", lambda n: nudge(key, n), lambda: choose(key))
        self._names = QVBoxLayout()
        self._names.addStretch(1)
        self._names.addWidget(self.name)
        self._names.addWidget(self.effective)
        self._names.addStretch(1)
        self._row = QHBoxLayout(self)
        self._row.addWidget(self.cap)
        self._row.addLayout(self._names, 1)
        self._row.addWidget(self.stepper)

    def fit(self) -> None:
        px = self.look.px
        self._row.setContentsMargins(px(10), 0, px(8), 0)
        self._row.setSpacing(px(GAP))
        self._names.setSpacing(0)
        self.cap.setFixedWidth(px(20))

    def choose(self, key: str) -> None:
        """Mark this setting, if it is the one that the keys change."""
        self._chosen = key == self.key
        self.stepper.figure.say(self.stepper.figure.text, ink_of(self._chosen))
        self.update()

    def show_status(self, memory: Memory) -> None:
        """Show the time and what it makes on the grid."""
        value = memory.settings.value(self.key)
        self.stepper.figure.say(amount(value), ink_of(self._chosen))
        self.stepper.foretell(memory, self.key)
        ticks = n_ticks(value, self._tick_s)
        self.effective.say(f"{effective_words(value, self._tick_s)}, {ticks} ticks")

    def mousePressEvent(self, event: QMouseEvent | None) -> None:
        self._choose(self.key)

    def paintEvent(self, event: QPaintEvent | None) -> None:
        paint_row(self, self._chosen)


def ink_of(chosen: bool) -> str:
    """Return the colour of a figure: the one that the keys change stands out."""
    return "focus" if chosen else "text"


def paint_row(part: Part, chosen: bool) -> None:
    """Paint a row's ground, and a bar at its left when it is chosen."""
    painter, look = QPainter(part), part.look
    painter.fillRect(part.rect(), look.colour("focus_ground" if chosen else "panel"))
    if chosen:
        painter.fillRect(QRectF(0, 0, look.px(4), part.height()), look.colour("focus"))
    painter.fillRect(QRectF(0, part.height() - 1, part.width(), 1), look.colour("line"))
