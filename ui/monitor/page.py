"""The desk itself: the rate first, then the settings, then the lanes, then the raw trace."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtGui import QPainter, QPaintEvent
from PyQt6.QtWidgets import QHBoxLayout, QVBoxLayout

from engine.reward.advice import Change
from engine.session.asks import Ask, AskMap, AskNote, AskNudge, AskUndo
from engine.session.messages import Remark
from ui.monitor.chart_card import ChartCard
from ui.monitor.client_card import ClientCard
from ui.monitor.footer import Footer
from ui.monitor.headline import Headline
from ui.monitor.lanes import Lanes
from ui.monitor.memory import Memory
from ui.monitor.parts import Part
from ui.monitor.rate_card import RateCard
from ui.monitor.settings_table import SettingsTable
from ui.monitor.trace_strip import TraceStrip
from ui.monitor.wording import about, span_words

TABLE_EVERY, COPY_EVERY, CHART_EVERY = 6, 3, 30
"""Frames of 1/30 s between two looks at the settings, the client's copy, the rate."""


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
        self.chart_card = ChartCard(hello, self.follow, self.set_from_map, self.choose_map)
        self.rate = RateCard(lambda: self.do("again"))
        self.client = ClientCard(hello.client, send)
        self.table = SettingsTable(hello, self.nudge, lambda: self.do("undo"))
        self.lanes = Lanes(hello, self.drag, self.table.choose, self.preview)
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

    def follow(self, change: Change) -> None:
        """Ask for exactly the change that was advised."""
        self.table.choose(change.key)
        self._send(AskNudge(change.key, "advice", value=change.value))

    def set_from_map(self, key: str, value: float) -> None:
        """Ask for one of the two changes that lead to a point of the map."""
        self.table.choose(key)
        self._send(AskNudge(key, "map", value=value))

    def choose_map(self, across: str, up: str) -> None:
        """Ask for a map over the thresholds of two other bands."""
        self._send(AskMap(across, up))

    def preview(self, key: str, value: float | None) -> str:
        """Show what would come of letting a line go here; None when it was let go."""
        memory = self.memory
        memory.preview = None if value is None else (key, value)
        self.rate.show_status(memory)
        self.chart_card.chart.show_ahead()
        if value is None or not memory.foreseen:
            return ""
        found = memory.previewed
        if found is None:
            return "cannot be told"
        return f"about {about(found.rate)} ({span_words(found)})"

    def switch_map(self) -> None:
        """Show the map of rates in the place of their course and the lanes, or go back."""
        self.chart_card.switch()
        mapped = self.chart_card.mapped
        self.lanes.setVisible(not mapped)
        self.footer.show_mapped(mapped)
        self.show_all()

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
            case "advised":
                self.chart_card.advice.show_status(self.memory)
                self.chart_card.advice.follow()
            case "undo":
                self._send(AskUndo())
            case "again":
                self.rate.score_again(self.memory)
                self.rate.show_status(self.memory)
            case "map":
                self.switch_map()
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
            self.chart_card.show_status(memory)
        if n % COPY_EVERY == 0:
            self.client.show_now(memory)
        if not self.still:
            if not self.lanes.isHidden():
                self.lanes.show_now(memory)
            self.trace.show_now(memory)
            if n % TABLE_EVERY == 1:
                self.trace.show_status(memory)
            if n % CHART_EVERY == 0 and not self.chart_card.mapped:
                self.chart_card.chart.show_status(memory)

    def show_all(self) -> None:
        """Draw everything at once: after a new look, or a new page."""
        self._frames = 0
        still, self.still = self.still, False
        self.show_frame()
        self.still = still

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("ground"))
