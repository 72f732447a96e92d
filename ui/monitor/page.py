"""The desk itself: the rate first, then the settings, then the lanes, then the raw trace."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtGui import QPainter, QPaintEvent
from PyQt6.QtWidgets import QHBoxLayout, QVBoxLayout

from engine.session.messages import Ask, AskNote, AskNudge, Hello, Remark
from ui.monitor.client_card import ClientCard
from ui.monitor.footer import Footer
from ui.monitor.headline import Headline
from ui.monitor.lanes import Lanes
from ui.monitor.memory import Memory
from ui.monitor.parts import RIGHT, Part, Words
from ui.monitor.rate_card import RateCard
from ui.monitor.rate_chart import RateChart
from ui.monitor.settings_table import SettingsTable
from ui.monitor.trace_strip import TraceStrip
from ui.monitor.wording import delay_words
from ui.theme import LARGE, SMALL

LEGEND = "each mark at the foot is a point"
STILL = "pictures held still: F8 goes on"
TABLE_EVERY, COPY_EVERY, CHART_EVERY = 6, 3, 30
"""Frames of 1/30 s between two looks at the settings, the client's copy, the rate."""


class ChartCard(Part):
    """The rate chart under its title."""

    def __init__(self, hello: Hello):
        super().__init__()
        self.title = Words(f"{hello.title}: {hello.protocol.name}", LARGE - 2, bold=True)
        self.legend = Words(LEGEND, SMALL, "muted")
        self.delay = Words(delay_words(hello.delay_s), SMALL, "muted", align=RIGHT)
        self.delay.setToolTip("; ".join(f"{name} {s:.3f} s" for name, s in hello.delays))
        self._legends = QHBoxLayout()
        self._legends.addWidget(self.legend, 1)
        self._legends.addWidget(self.delay, 1)
        self.chart = RateChart()
        self._column = QVBoxLayout(self)
        self._column.addWidget(self.title)
        self._column.addLayout(self._legends)
        self._column.addWidget(self.chart, 1)

    def hold_still(self, still: bool) -> None:
        """Say that what is seen may be old."""
        self.legend.say(STILL if still else LEGEND, "hidden" if still else "muted")

    def fit(self) -> None:
        px = self.look.px
        self._column.setContentsMargins(px(12), px(8), px(8), px(4))
        self._column.setSpacing(px(2))

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("panel"))


class DeskPage(Part):
    """Everything that is on screen while a stream is there."""

    def __init__(self, memory: Memory, send: Callable[[Ask], object], do: Callable[[str], object]):
        super().__init__()
        self.memory = memory
        hello = memory.hello
        self._send = send
        self._frames = 0
        self.still = False
        self.headline = Headline(do)
        self.chart_card = ChartCard(hello)
        self.rate = RateCard()
        self.client = ClientCard(hello.client, send)
        self.table = SettingsTable(hello, self.nudge)
        self.lanes = Lanes(hello, self.drag, self.table.choose)
        self.trace = TraceStrip(hello)
        self.footer = Footer(hello, do, lambda text: send(AskNote(text)))
        self._band = QHBoxLayout()
        self._band.addWidget(self.chart_card, 1)
        self._band.addWidget(self.rate)
        self._band.addWidget(self.client)
        self._column = QVBoxLayout(self)
        self._column.addWidget(self.headline)
        self._column.addLayout(self._band, 68)
        self._column.addWidget(self.table)
        self._column.addWidget(self.lanes, 32)
        self._column.addWidget(self.trace)
        self._column.addWidget(self.footer)

    def fit(self) -> None:
        px = self.look.px
        self._column.setContentsMargins(px(7), px(7), px(7), px(7))
        self._column.setSpacing(px(7))
        self._band.setSpacing(px(7))

    # ---- what the operator does -------------------------------------------------------------

    def nudge(self, key: str, steps: int, how: str) -> None:
        """Ask for a change by whole steps."""
        self._send(AskNudge(key, how, steps=steps))

    def drag(self, key: str, value: float) -> None:
        """Ask for the value at which a line was let go."""
        self._send(AskNudge(key, "drag", value=value))

    def do(self, name: str, row: int = 0) -> bool:
        """Do what a key stands for on this page; False if it is none of its own."""
        match name:
            case "row":
                self.table.choose_row(row)
            case "hold" | "quiet":
                self.table.choose(name)
            case "averaging":
                self.table.switch()
            case "up" | "down":
                self.table.step_row(1 if name == "down" else -1)
            case "less" | "more":
                self.nudge(self.table.chosen, 1 if name == "more" else -1, "key")
            case "note":
                self.footer.note.setFocus()
            case "pause":
                self.still = not self.still
                self.footer.hold_still(self.still)
                self.chart_card.hold_still(self.still)
            case _:
                return self.client.do(name)
        return True

    # ---- what the host says -------------------------------------------------------------------

    def tell(self, remark: Remark) -> None:
        """Show one sentence from the host."""
        self.footer.tell(remark, self.memory.now_s)
        self.footer.show_status(self.memory)

    def show_frame(self) -> None:
        """Draw what is due in this frame."""
        memory, n = self.memory, self._frames
        self._frames += 1
        self.headline.show_now(memory)
        if n % TABLE_EVERY == 0:
            self.headline.show_status(memory)
            self.table.show_status(memory)
            self.footer.show_status(memory)
            self.client.show_status(memory)
            self.lanes.show_status(memory)
            self.rate.show_status(memory)
        if n % COPY_EVERY == 0:
            self.client.show_now(memory)
        if not self.still:
            self.lanes.show_now(memory)
            self.trace.show_now(memory)
            if n % TABLE_EVERY == 1:
                self.trace.show_status(memory)
            if n % CHART_EVERY == 0:
                self.chart_card.chart.show_status(memory)

    def show_all(self) -> None:
        """Draw everything at once: after a new look, or a new page."""
        self._frames = 0
        still, self.still = self.still, False
        self.show_frame()
        self.still = still

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("ground"))
