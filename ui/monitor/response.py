"""What each condition's filter lets through: a curve, and its gain where it matters."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pyqtgraph as pg
from PyQt6.QtCore import QLineF, QPointF, QRectF, Qt
from PyQt6.QtGui import QFontMetrics, QPainter, QPen
from PyQt6.QtWidgets import QGridLayout

from engine.session.messages import BandResponse, Hello
from ui.monitor.buttons import Press
from ui.monitor.overlay import Sheet
from ui.monitor.parts import RIGHT, Words
from ui.monitor.wording import hertz
from ui.plots import Picture, Plane
from ui.theme import BODY, SMALL, Look

TOP_HZ = 62.0
MARKS_HZ = ((10.0, 11.0, "alpha"), (49.5, 50.5, "50 Hz"), (59.5, 60.5, "60 Hz"))


def gain_at(response: BandResponse, freq_hz: float) -> float:
    """Return the gain at a frequency; NaN above what the stream can carry."""
    return float(np.interp(freq_hz, response.freqs_hz, response.gain, left=np.nan, right=np.nan))


def readings(response: BandResponse) -> tuple[tuple[str, float], ...]:
    """Return the gains that tell a good filter: in the band, at its neighbours, at the mains."""
    centre = (response.low_hz + response.high_hz) / 2
    inside = (response.freqs_hz >= response.low_hz) & (response.freqs_hz <= response.high_hz)
    least = float(np.min(response.gain[inside])) if inside.any() else float("nan")
    return (
        ("at the centre", gain_at(response, centre)),
        ("least in the band", least),
        ("an octave below", gain_at(response, response.low_hz / 2)),
        ("an octave above", gain_at(response, response.high_hz * 2)),
        ("10 Hz", gain_at(response, 10.0)),
        ("11 Hz", gain_at(response, 11.0)),
        ("50 Hz", gain_at(response, 50.0)),
        ("60 Hz", gain_at(response, 60.0)),
    )


class ResponsePicture(Picture):
    """One curve a condition, gain in per cent over frequency."""

    def __init__(self, hello: Hello):
        super().__init__(left=52, bottom=22, top=4, right=4)
        self._responses = hello.responses
        self._colours = [
            "reward" if c.direction == "above" else "inhibit" for c in hello.protocol.conditions
        ]
        self.curves = [self.curve() for _ in self._responses]
        self.layer(self._draw_under, z=-10)
        self.layer(self._draw_names, z=10)
        for curve, response in zip(self.curves, self._responses, strict=True):
            shown = response.freqs_hz <= TOP_HZ
            curve.setData(response.freqs_hz[shown], 100 * response.gain[shown])

    def dress(self, look: Look) -> None:
        super().dress(look)
        for curve, colour in zip(self.curves, self._colours, strict=False):
            curve.setPen(pg.mkPen(look.colour(colour), width=look.px(1.6)))
        self.show_range(0.0, TOP_HZ, 0.0, 132.0)
        self.show_ticks("bottom", [(float(f), f"{f} Hz") for f in range(10, int(TOP_HZ), 10)])
        self.show_ticks("left", [(float(g), f"{g} %") for g in (10, 50, 100)])

    def _draw_under(self, painter: QPainter, plane: Plane) -> None:
        look = self.look
        font = look.font(SMALL)
        metrics = QFontMetrics(font)
        painter.setFont(font)
        for low, high, name in MARKS_HZ:
            box = QRectF(plane.x(low), plane.top, plane.x(high) - plane.x(low), 0)
            box.setBottom(plane.bottom)
            painter.fillRect(box, look.colour("raised"))
            painter.setPen(look.colour("muted"))
            at = box.center().x() - metrics.horizontalAdvance(name) / 2
            painter.drawText(QPointF(at, plane.top + metrics.ascent()), name)
        pen = QPen(look.colour("line"), 1)
        painter.setPen(pen)
        for gain in (10.0, 50.0, 100.0):
            y = round(plane.y(gain)) + 0.5
            painter.drawLine(QLineF(plane.left, y, plane.right, y))
        pen.setDashPattern([3, 4])
        painter.setPen(pen)
        for response in self._responses:
            for edge in (response.low_hz / 2, response.high_hz * 2):
                x = round(plane.x(edge)) + 0.5
                painter.drawLine(QLineF(x, plane.y(60.0), x, plane.bottom))

    def _draw_names(self, painter: QPainter, plane: Plane) -> None:
        look = self.look
        font = look.font(BODY, bold=True)
        metrics = QFontMetrics(font)
        painter.setFont(font)
        for response, colour in zip(self._responses, self._colours, strict=False):
            left, right = plane.x(response.low_hz), plane.x(response.high_hz)
            ink = look.colour(colour)
            painter.fillRect(QRectF(left, plane.bottom - look.px(5), right - left, 5), ink)
            painter.setPen(ink)
            at = (left + right - metrics.horizontalAdvance(response.label)) / 2
            painter.drawText(QPointF(max(plane.left, at), plane.y(116.0)), response.label)


class ResponseSheet(Sheet):
    """The picture, and a table of gains under it."""

    def __init__(self, hello: Hello, close: Callable[[], object]):
        super().__init__("What each filter lets through", 1200)
        self.picture = ResponsePicture(hello) if hello.responses else None
        self._grid = QGridLayout()
        if self.picture is None:
            self.column.addWidget(Words("This stream's filters have not been reported."))
        else:
            self.column.addWidget(self.picture)
            self._fill(hello.responses)
            self.column.addLayout(self._grid)
            note = (
                "Bars at the foot mark each band, dashed lines an octave below and above it. "
                f"Delay of every condition: {hello.protocol.delay_s:g} s."
            )
            self.column.addWidget(Words(note, SMALL + 1, "muted"))
        self.column.addWidget(
            Press("back to the desk", "F3", close), 0, Qt.AlignmentFlag.AlignRight
        )

    def _fill(self, responses: tuple[BandResponse, ...]) -> None:
        for row, response in enumerate(responses, 1):
            name = f"{response.label}, {hertz(response.low_hz)}–{hertz(response.high_hz)} Hz"
            self._grid.addWidget(Words(name, BODY, bold=True), row, 0)
            for column, (words, gain) in enumerate(readings(response), 1):
                if row == 1:
                    self._grid.addWidget(Words(words, SMALL, "muted", align=RIGHT), 0, column)
                text = "–" if np.isnan(gain) else f"{100 * gain:.1f} %"
                self._grid.addWidget(Words(text, BODY, align=RIGHT), row, column)
        self._grid.setColumnStretch(0, 2)
        for column in range(1, 9):
            self._grid.setColumnStretch(column, 1)

    def fit(self) -> None:
        super().fit()
        self._grid.setVerticalSpacing(self.look.px(2))
        if self.picture is not None:
            self.picture.setFixedHeight(self.look.px(380))
