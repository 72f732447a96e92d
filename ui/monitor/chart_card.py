"""The card over the settings: the advice, and below it the course of the rate or its map."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtGui import QPainter, QPaintEvent
from PyQt6.QtWidgets import QHBoxLayout, QVBoxLayout

from engine.reward.advice import Change
from engine.session.messages import Hello
from ui.monitor.advice_line import AdviceLine
from ui.monitor.map_view import MapView
from ui.monitor.memory import Memory
from ui.monitor.parts import RIGHT, Part, Words
from ui.monitor.rate_chart import RateChart
from ui.theme import BODY, SMALL

LEGEND = "each mark at the foot is a point"
STILL = "pictures held still: F8 goes on"


class ChartCard(Part):
    """Title, advice, and a picture: the course (`chart`), or the map (`map`) in its place."""

    def __init__(
        self,
        hello: Hello,
        advised: Callable[[Change], object],
        set_threshold: Callable[[str, float], object],
        choose_map: Callable[[str, str], object],
    ):
        super().__init__()
        whose = f"{hello.title}: " if hello.title else ""
        self.title = Words(f"{whose}{hello.protocol.name}", BODY + 1, bold=True)
        self.legend = Words(LEGEND, SMALL, "muted", align=RIGHT, template=LEGEND)
        self._titles = QHBoxLayout()
        self._titles.addWidget(self.title, 1)
        self._titles.addWidget(self.legend)
        self.advice = AdviceLine(advised)
        self.chart = RateChart()
        self.map = MapView(hello, set_threshold, choose_map)
        self.map.hide()
        self._still = False
        self._column = QVBoxLayout(self)
        self._column.addLayout(self._titles)
        self._column.addWidget(self.advice)
        self._column.addWidget(self.chart, 1)
        self._column.addWidget(self.map, 1)

    def fit(self) -> None:
        px = self.look.px
        self._column.setContentsMargins(px(12), px(7), px(8), px(4))
        self._column.setSpacing(px(4))

    def hold_still(self, still: bool) -> None:
        """Say that what is seen may be old."""
        self._still = still
        self._say_legend()

    def _say_legend(self) -> None:
        usual = "" if self.mapped else LEGEND
        self.legend.say(STILL if self._still else usual, "hidden" if self._still else "muted")

    @property
    def mapped(self) -> bool:
        """Whether the map is on screen."""
        return not self.map.isHidden()

    def switch(self) -> None:
        """Show the map in the place of the course, or the course again."""
        mapped = not self.mapped
        self.chart.setVisible(not mapped)
        self.map.setVisible(mapped)
        self._say_legend()

    def show_status(self, memory: Memory) -> None:
        """Show the advice, and the map if it is on screen."""
        self.advice.show_status(memory)
        if self.mapped:
            self.map.show_status(memory)

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("panel"))
