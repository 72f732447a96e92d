"""One lane a condition: the amplitude of the last seconds, and its threshold to be dragged."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pyqtgraph as pg
from PyQt6.QtCore import QEvent, QObject, QRectF, Qt
from PyQt6.QtGui import QFontMetrics, QMouseEvent, QPainter, QPaintEvent
from PyQt6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout

from engine.chunk import Floats
from engine.protocol import Condition
from engine.session.messages import Hello
from engine.settings import THRESHOLD_UV
from ui.monitor.history import Flags, averages
from ui.monitor.memory import LANE_S, Memory
from ui.monitor.parts import RIGHT, Part, Words
from ui.monitor.wording import amount
from ui.plots import Picture, Plane, area, draw_spans, draw_tag, level_line, round_above
from ui.theme import BODY, LARGE, SMALL

GRAB_PX = 9.0
"""How near the threshold line, in base pixels, the mouse takes hold of it."""
ASKED_FRAMES = 60
"""A line let go waits so many frames for the host to follow, then shows what is set."""

Drag = Callable[[str, float], object]
Preview = Callable[[str, float | None], str]
"""Told where a line is dragged to, or that it was let go (None); answers what would come of it."""


class Lane(Part):
    """The picture of one condition."""

    def __init__(
        self,
        index: int,
        condition: Condition,
        drag: Drag,
        chosen: Callable[[str], object],
        preview: Preview,
        n_lanes: int = 1,
    ):
        super().__init__()
        self.key = f"{condition.band}.threshold"
        self._index, self._condition, self._drag, self._chosen = index, condition, drag, chosen
        self._preview = preview
        self.threshold = condition.threshold_uv
        self._held: float | None = None
        self._grip = 0.0
        self._asked: float | None = None
        self._patience = 0
        self._foretold = ""
        self.shown_x: Floats = np.empty(0)
        self.shown_y: Floats = np.empty(0)
        self._floor: Floats = np.empty(0)
        self.shown_met: Flags = np.empty(0, dtype=bool)
        self._spans: list[tuple[float, float, str]] = []
        self.top = round_above(1.6 * condition.threshold_uv)
        kept = f" kept {condition.direction}" if n_lanes <= 4 else ""
        self.name = Words(condition.label + kept, SMALL + 1)
        self.met = Words("", SMALL + 1, bold=True, align=RIGHT, template="○ not met")
        self.picture = Picture(left=30, bottom=16 if n_lanes <= 6 else 0)
        self._line = self.picture.curve()
        self._under = self.picture.layer(self._draw_under, z=-10)
        self._over = self.picture.layer(self._draw_over, z=10)
        self._titles = QHBoxLayout()
        self._titles.addWidget(self.name, 1)
        self._titles.addWidget(self.met)
        self._column = QVBoxLayout(self)
        self._column.addLayout(self._titles)
        self._column.addWidget(self.picture, 1)
        viewport = self.picture.viewport()
        viewport.setMouseTracking(True)
        viewport.installEventFilter(self)

    @property
    def _line_at(self) -> float:
        """Where the line is drawn: where it is held, else where it was let go, else as set."""
        if self._held is not None:
            return self._held
        return self.threshold if self._asked is None else self._asked

    @property
    def tag(self) -> str:
        """What is written on the line: while it is held, what would come of letting go."""
        if self._held is None:
            return amount(self._line_at)
        way = f"{amount(self.threshold)} → {amount(self._held)}"
        return f"{way}: {self._foretold}" if self._foretold else f"{way}, let go to set"

    @property
    def _colour(self) -> str:
        return "reward" if self._condition.direction == "above" else "inhibit"

    def fit(self) -> None:
        px = self.look.px
        self._column.setContentsMargins(px(6), px(4), px(8), px(2))
        self._column.setSpacing(px(2))
        self._line.setPen(pg.mkPen(self.look.colour(self._colour), width=1))
        self.picture.show_ticks(
            "bottom", [(-t, f"{t:g} s") for t in (30, 20, 10)] + [(-1.5, "now")]
        )
        self._show_range()

    def _show_range(self) -> None:
        self.picture.show_range(-LANE_S, 0.0, 0.0, self.top)
        thirds = f"{self.top:.1e}".startswith(("1.5", "3.0"))
        mark = self.top * 2 / 3 if thirds else self.top / 2
        self.picture.show_ticks("left", [(mark, f"{mark:g}")])

    def show_now(self, memory: Memory, now_s: float, bin_s: float) -> None:
        """Draw the newest picture: called for every frame."""
        ticks, i = memory.ticks, self._index
        x, y, met = averages(ticks.times_s, self._columns(memory), ticks.met[:, i : i + 1], bin_s)
        self.shown_x, self.shown_y, self._floor = x - now_s, y[:, 0], y[:, 1]
        self.shown_met = met[:, 0]
        self._spans = memory.hidden_spans(now_s)
        self._line.setData(self.shown_x, self.shown_y, connect="finite")
        self._under.update()
        if self._patience and (self._patience == 1 or self.threshold != self._asked):
            self._asked, self._patience = None, 0
            self._over.update()
        self._patience = max(0, self._patience - 1)

    def _columns(self, memory: Memory) -> Floats:
        i = self._index
        ticks = memory.ticks
        return np.column_stack([ticks.amplitudes_uv[:, i], ticks.thresholds_uv[:, i]])

    def show_status(self, memory: Memory) -> None:
        """Follow the threshold, the scale and the words."""
        threshold = memory.settings.thresholds_uv[self._index]
        if self._asked is not None and threshold != self.threshold:
            self._asked, self._patience = None, 0
        if threshold != self.threshold:
            self.threshold = threshold
            self._over.update()
        self.met.say(*self._met_words(memory))
        if self._held is None:
            self._rescale(memory)
        else:
            self._foretold = self._preview(self.key, self._held)
            self._over.update()

    def _met_words(self, memory: Memory) -> tuple[str, str]:
        tick, status = memory.ticks.latest, memory.status
        if tick is None or (status is not None and not status.stream_ok):
            return "no signal", "lost"
        if tick.reasons:
            return "hidden", "hidden"
        return ("● met", "text") if tick.met[self._index] else ("○ not met", "muted")

    def _rescale(self, memory: Memory) -> None:
        values = memory.ticks.amplitudes_uv[:, self._index]
        seen = values[np.isfinite(values)]
        high = float(np.quantile(seen, 0.98)) if seen.size else 0.0
        wanted = round_above(max(1.6 * self.threshold, 1.1 * min(high, 4.0 * self.threshold)))
        if wanted > self.top or wanted < 0.75 * self.top:
            self.top = wanted
            self._show_range()

    # ---- dragging ---------------------------------------------------------------------------

    def eventFilter(self, watched: QObject | None, event: QEvent | None) -> bool:
        """Take hold of the threshold line, follow the mouse, and ask only when it is let go."""
        if not isinstance(event, QMouseEvent):
            return super().eventFilter(watched, event)
        y = event.position().y()
        near = abs(y - self.picture.pixel_of(self.threshold)) <= self.look.px(GRAB_PX)
        kind = event.type()
        if kind == QEvent.Type.MouseButtonPress and event.button() == Qt.MouseButton.LeftButton:
            self._chosen(self.key)
            if near:
                self._held, self._foretold = self.threshold, ""
                self._grip = self.threshold - self.picture.y_at(y)
        elif kind == QEvent.Type.MouseMove and self._held is not None:
            self._held = self._value_at(y)
            self._foretold = self._preview(self.key, self._held)
            self._over.update()
        elif kind == QEvent.Type.MouseButtonRelease and self._held is not None:
            self._held = self._value_at(y)
            self._let_go()
        shape = Qt.CursorShape.SizeVerCursor if near or self._held else Qt.CursorShape.ArrowCursor
        self.picture.viewport().setCursor(shape)
        return True

    def _value_at(self, y: float) -> float:
        low, high = THRESHOLD_UV
        return round(min(max(self.picture.y_at(y) + self._grip, low), min(high, self.top)), 2)

    def _let_go(self) -> None:
        value, self._held = self._held, None
        self._foretold = self._preview(self.key, None)
        if value is not None and value != self.threshold:
            self._asked, self._patience = value, ASKED_FRAMES
            self._drag(self.key, value)
        self._over.update()

    # ---- painting ---------------------------------------------------------------------------

    def _draw_under(self, painter: QPainter, plane: Plane) -> None:
        draw_spans(painter, plane, self.look, self._spans)
        if self.shown_x.size < 2:
            return
        fill = self.look.colour(f"{self._colour}_ground")
        mark = self.look.colour(self._colour)
        height = self.look.px(4)
        x, y, floor = self.shown_x, self.shown_y, self._floor
        edges = np.flatnonzero(np.diff(self.shown_met.astype(int), prepend=0, append=0))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(fill)
        for first, last in edges.reshape(-1, 2):
            part = slice(max(0, first - 1), last + 1) if last - first < 2 else slice(first, last)
            painter.drawPolygon(area(plane, x[part], y[part], floor[part]))
        for first, last in edges.reshape(-1, 2):
            left, right = plane.x(x[first]), plane.x(x[last - 1])
            bar = QRectF(left, plane.bottom - height, max(1.0, right - left), height)
            painter.fillRect(bar, mark)

    def _draw_over(self, painter: QPainter, plane: Plane) -> None:
        look = self.look
        if self._held is not None:
            level_line(painter, plane, plane.y(self.threshold), look.colour("muted"), True)
        value = self._line_at
        y = min(max(plane.y(value), plane.top), plane.bottom)
        level_line(painter, plane, y, look.colour("text"), False)
        half = look.px(9 if self._held is None else 13)
        middle = min(max(y, plane.top + half), plane.bottom - half)
        fill, ink = ("raised", "text") if self._held is None else ("focus", "on_strong")
        size = SMALL if self._held is None else self._tag_size(plane.right - plane.left)
        draw_tag(painter, look, self.tag, plane.right, middle, fill, ink, size)

    def _tag_size(self, width: float) -> float:
        """Return the largest size at which the tag of a held line has room."""
        for size in (LARGE - 2, BODY, SMALL):
            words = QFontMetrics(self.look.font(size, bold=True)).horizontalAdvance(self.tag)
            if words + self.look.px(10) <= width:
                return size
        return SMALL - 2

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("panel"))


class Lanes(Part):
    """All lanes, side by side; more than six stand in two rows."""

    def __init__(self, hello: Hello, drag: Drag, chosen: Callable[[str], object], preview: Preview):
        super().__init__()
        conditions = hello.protocol.conditions
        n = len(conditions)
        self.lanes = [Lane(i, c, drag, chosen, preview, n) for i, c in enumerate(conditions)]
        across = n if n <= 6 else (n + 1) // 2
        self._grid = QGridLayout(self)
        for i, lane in enumerate(self.lanes):
            self._grid.addWidget(lane, i // across, i % across)
        self._tick_s = hello.tick_s

    def fit(self) -> None:
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(self.look.px(8))

    def show_now(self, memory: Memory) -> None:
        """Draw every lane at the newest tick, moved by whole pixels."""
        tick = memory.ticks.latest
        if tick is None:
            return
        bin_s = max(self._tick_s, LANE_S / self.lanes[0].picture.plane_width)
        now_s = (np.floor(tick.time_s / bin_s) + 0.5) * bin_s
        for lane in self.lanes:
            lane.show_now(memory, now_s, bin_s)

    def show_status(self, memory: Memory) -> None:
        """Follow settings and scales."""
        for lane in self.lanes:
            lane.show_status(memory)
