"""The raw trace, a slim strip, with hidden stretches shaded and named."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PyQt6.QtGui import QPainter, QPaintEvent
from PyQt6.QtWidgets import QHBoxLayout, QVBoxLayout

from engine.session.messages import Hello
from ui.monitor.history import extremes
from ui.monitor.memory import LANE_S, Memory
from ui.monitor.parts import RIGHT, Part, Words
from ui.plots import Picture, Plane, draw_span_names, draw_spans
from ui.theme import SMALL

SCALES_UV = (20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)


class TraceStrip(Part):
    """The high-passed signals of the last seconds, one above the other, on one scale."""

    def __init__(self, hello: Hello):
        super().__init__()
        self._names = hello.signals or ("signal",)
        self._scale_uv = SCALES_UV[1]
        self.spans: list[tuple[float, float, str]] = []
        self.n_painted = 0
        self.title = Words("raw trace", SMALL, bold=True)
        self.scale = Words("", SMALL, "muted")
        self.picture = Picture(left=0, bottom=0)
        self._under = self.picture.layer(self._draw_spans, z=-10)
        self._over = self.picture.layer(self._draw_names, z=10)
        self._curves = [self.picture.curve() for _ in self._names]
        self._side = QVBoxLayout()
        for words in (self.title, self.scale):
            self._side.addWidget(words)
        self._side.addStretch(1)
        self._labels = QVBoxLayout()
        for name in self._names:
            self._labels.addWidget(Words(name, SMALL, align=RIGHT), 1)
        self._row = QHBoxLayout(self)
        self._row.addLayout(self._side)
        self._row.addLayout(self._labels)
        self._row.addWidget(self.picture, 1)

    def fit(self) -> None:
        px = self.look.px
        self._row.setContentsMargins(px(8), px(4), px(8), px(4))
        self._row.setSpacing(px(6))
        self._side.setSpacing(px(1))
        self._labels.setSpacing(0)
        for words in (self.title, self.scale):
            words.setFixedWidth(px(104))
        for label in self.findChildren(Words):
            if label not in (self.title, self.scale):
                label.setFixedWidth(px(62))
        for curve in self._curves:
            curve.setPen(pg.mkPen(self.look.palette.muted, width=1))
        self.setFixedHeight(px(36 + 10 * min(len(self._names), 5)))
        self._show_scale()

    def _show_scale(self) -> None:
        self.picture.show_range(-LANE_S, 0.0, 0.0, 2.0 * len(self._names))
        self.scale.say(f"±{self._scale_uv:g} µV, 40 s")

    def show_now(self, memory: Memory) -> None:
        """Draw the newest picture."""
        times, trace = memory.trace.times_s, memory.trace.trace_uv
        if times.size == 0:
            return
        bin_s = LANE_S / self.picture.plane_width
        now_s = (np.floor(memory.now_s / bin_s) + 0.5) * bin_s
        for place, curve in enumerate(self._curves):
            x, y = extremes(times, trace[:, place], bin_s)
            offset = 2.0 * (len(self._curves) - place) - 1.0
            shown = np.clip(y / self._scale_uv, -1.0, 1.0) + offset
            curve.setData(x - now_s, shown, connect="finite")
        self.spans = memory.hidden_spans(now_s)
        self._under.update()
        self._over.update()

    def show_status(self, memory: Memory) -> None:
        """Choose the scale that holds nearly all of the first signal, which is trained."""
        trace = memory.trace.trace_uv[:, :1]
        if trace.size == 0:
            return
        finite = np.abs(trace[np.isfinite(trace)])
        high = float(np.quantile(finite, 0.985)) if finite.size else 0.0
        wanted = next((s for s in SCALES_UV if high <= s), SCALES_UV[-1])
        if wanted > self._scale_uv or high < 0.3 * self._scale_uv:
            self._scale_uv = wanted
            self._show_scale()

    def _draw_spans(self, painter: QPainter, plane: Plane) -> None:
        self.n_painted += 1
        draw_spans(painter, plane, self.look, self.spans)

    def _draw_names(self, painter: QPainter, plane: Plane) -> None:
        draw_span_names(painter, plane, self.look, self.spans)

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("panel"))
