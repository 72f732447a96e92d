"""The course of a session as pictures above each other, on one time: a lane a band, then the rate.

The arrow keys move the cursor, plus and minus zoom about it, Backspace takes the last zoom back;
the wheel and a click do the same.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pyqtgraph as pg
from PyQt6.QtCore import QLineF, QPointF, QRectF, Qt
from PyQt6.QtGui import (
    QFontMetrics,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QWheelEvent,
)
from PyQt6.QtWidgets import QVBoxLayout

from engine.lookback.course import Course
from ui.monitor.pages.course_curves import (
    Curves,
    Spans,
    baseline_levels,
    curves_of,
    hidden_spans,
    minute_marks,
    top_of,
)
from ui.monitor.parts import Part
from ui.monitor.wording import amount, band_words, clock, number
from ui.plots import Picture, Plane, draw_spans, level_line, round_above
from ui.theme import SMALL, Look

LEAST_SPAN_S = 10.0
CLOSER = 0.5
WIDE = 800
"""Hidden spans that lie nearer to each other than this part of what is shown are drawn as one."""

LEAST_HATCHED = 6.0
"""A narrower span, in base pixels, is marked at the foot of a lane alone."""

Key = Qt.Key


class Lane(Picture):
    """One band over time, or the rate where ``place`` is None."""

    def __init__(self, course: Course, place: int | None, bottom: float = 0):
        super().__init__(left=40, bottom=bottom, top=1, right=2)
        self._course, self._place = course, place
        self.cursor_s: float | None = None
        self._spans: Spans = ()
        if place is not None:
            band = course.conditions[place].band
            self._threshold = course.threshold_line(band, course.end_s)
            self._baselines = baseline_levels(course, place)
        self._line = self.curve()
        self._under = self.layer(self._draw_under, z=-10)
        self._over = self.layer(self._draw_over, z=10)

    @property
    def _ink(self) -> str:
        if self._place is None:
            return "text"
        above = self._course.conditions[self._place].direction == "above"
        return "reward" if above else "inhibit"

    def dress(self, look: Look) -> None:
        super().dress(look)
        self._line.setPen(pg.mkPen(look.colour(self._ink), width=look.px(1.6)))

    def show_curves(self, curves: Curves, spans: Spans, start_s: float, stop_s: float) -> None:
        """Draw a stretch, with the ``spans`` in which signal was hidden."""
        course, self._spans = self._course, spans
        if self._place is None:
            zone = course.protocol.zone
            seen = curves.rate[np.isfinite(curves.rate)]
            top = round_above(max(1.3 * zone[1], 1.1 * float(seen.max()) if seen.size else 0.0))
            self.show_ticks("left", [(v, f"{v:g}") for v in zone])
            self._line.setData(curves.rate_s, curves.rate, connect="finite")
        else:
            top = round_above(top_of(course, self._place, curves))
            self.show_ticks("left", [(top / 2, f"{top / 2:g}")])
            self._line.setData(curves.time_s, curves.mean_uv[:, self._place], connect="finite")
        self.show_range(start_s, stop_s, 0.0, top)
        self.show_ticks("bottom", [(t, clock(t)) for t in minute_marks(start_s, stop_s)])
        self._under.update()
        self._over.update()

    def show_cursor(self, time_s: float | None) -> None:
        """Draw the cursor at a time."""
        self.cursor_s = time_s
        self._over.update()

    def _draw_under(self, painter: QPainter, plane: Plane) -> None:
        course, look = self._course, self.look
        spans = [(part.start_s, part.stop_s) for part in course.rounds]
        spans += [(part.start_s, part.stop_s) for part in course.stretches]
        for start_s, stop_s in spans:
            left, right = plane.x(start_s), plane.x(stop_s)
            painter.fillRect(
                QRectF(left, plane.top, right - left, plane.bottom - plane.top),
                look.colour("focus_ground"),
            )
        if self._place is None:
            low, high = course.protocol.zone
            band = QRectF(plane.left, plane.y(high), plane.right - plane.left, 0)
            band.setBottom(plane.y(low))
            painter.fillRect(band, look.colour("zone_ground"))
            for edge in (low, high):
                level_line(painter, plane, plane.y(edge), look.colour("zone"), dashes=False)
        least = look.px(LEAST_HATCHED)
        wide = [s for s in self._spans if plane.x(s[1]) - plane.x(s[0]) >= least]
        draw_spans(painter, plane, look, wide)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.colour("hidden"))
        tall = look.px(4)
        for start_s, stop_s, _ in self._spans:
            left, right = plane.x(start_s), plane.x(stop_s)
            painter.drawRect(QRectF(left, plane.bottom - tall, max(1.0, right - left), tall))

    def _draw_over(self, painter: QPainter, plane: Plane) -> None:
        look = self.look
        if self._place is not None:
            self._draw_levels(painter, plane)
        self._draw_name(painter, plane)
        if self.cursor_s is not None:
            x = round(plane.x(self.cursor_s)) + 0.5
            painter.setPen(QPen(look.colour("text"), 1))
            painter.drawLine(QLineF(x, plane.top, x, plane.bottom))

    def _draw_levels(self, painter: QPainter, plane: Plane) -> None:
        """Draw the threshold, and the mean of each baseline as a bar over its time."""
        look = self.look
        pen = QPen(look.colour("text"), 1)
        pen.setDashPattern([6, 4])
        painter.setPen(pen)
        painter.drawPolyline(plane.points(*self._threshold))
        painter.setPen(QPen(look.colour(self._ink), look.px(4)))
        for start_s, stop_s, mean_uv in self._baselines:
            y = plane.y(mean_uv)
            painter.drawLine(QLineF(plane.x(start_s), y, plane.x(stop_s), y))

    def _draw_name(self, painter: QPainter, plane: Plane) -> None:
        look = self.look
        if self._place is None:
            name = "points a clear minute"
        else:
            condition = self._course.conditions[self._place]
            name = f"{condition.label} {band_words(condition)}, {condition.direction} - - -"
        painter.setFont(look.font(SMALL, bold=True))
        metrics = QFontMetrics(painter.font())
        wide = metrics.horizontalAdvance(name) + look.px(8)
        plate = QRectF(plane.left + look.px(2), plane.top, wide, metrics.height())
        painter.fillRect(plate, look.colour("panel"))
        painter.setPen(look.colour(self._ink))
        painter.drawText(plate, int(Qt.AlignmentFlag.AlignCenter), name)


class CourseChart(Part):
    """Lanes of the chosen bands and the rate; ``read`` is told what stands at the cursor."""

    def __init__(self, read: Callable[[str], object]):
        super().__init__()
        self._read = read
        self._course: Course | None = None
        self._bands: tuple[int, ...] = ()
        self.lanes: list[Lane] = []
        self._curves: Curves | None = None
        self.view = (0.0, 1.0)
        self._views: list[tuple[float, float]] = []
        self.cursor_s: float | None = None
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(2, 2, 2, 2)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("course of the session")

    def fit(self) -> None:
        self._column.setSpacing(self.look.px(2))

    def show_course(self, course: Course, bands: Sequence[int]) -> None:
        """Show a course whole, or as it was zoomed if it is one that went on."""
        old, self._course, self._bands = self._course, course, tuple(bands)
        if old is None or old.id != course.id or not self._views:
            self.view, self._views = (0.0, max(1.0, course.end_s)), []
        for lane in self.lanes:
            lane.setParent(None)
            lane.deleteLater()
        self.lanes = [Lane(course, place) for place in self._bands]
        self.lanes.append(Lane(course, None, bottom=20))
        for lane in self.lanes:
            lane.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
            lane.dress(self.look)
            self._column.addWidget(lane, 1)
        self._draw()

    def _draw(self) -> None:
        if self._course is None:
            return
        self._curves = curves_of(self._course, *self.view)
        start_s, stop_s = self.view
        spans = hidden_spans(self._course, (stop_s - start_s) / WIDE)
        for lane in self.lanes:
            lane.show_curves(self._curves, spans, start_s, stop_s)
        self._show_cursor()

    # ---- zoom ---------------------------------------------------------------------------------

    @property
    def can_undo(self) -> bool:
        return bool(self._views)

    def zoom(self, factor: float, about_s: float | None = None) -> None:
        """Show ``factor`` of the time that is shown, about a time (else cursor or middle)."""
        if self._course is None:
            return
        start, stop = self.view
        middle = about_s if about_s is not None else self.cursor_s
        if middle is None or not start <= middle <= stop:
            middle = (start + stop) / 2
        whole = max(1.0, self._course.end_s)
        span = min(whole, max(LEAST_SPAN_S, (stop - start) * factor))
        left = middle - (middle - start) / (stop - start) * span
        left = min(max(0.0, left), whole - span)
        if (left, left + span) != self.view:
            self._views.append(self.view)
            self.view = (left, left + span)
            self._draw()

    def whole(self) -> None:
        """Show all of it."""
        self.zoom(float("inf"))

    def undo(self) -> None:
        """Take the last zoom back."""
        if self._views:
            self.view = self._views.pop()
            self._draw()

    # ---- cursor -------------------------------------------------------------------------------

    def move_cursor(self, time_s: float) -> None:
        """Put the cursor at a time; what is shown follows it."""
        if self._course is None:
            return
        self.cursor_s = min(max(0.0, time_s), self._course.end_s)
        start, stop = self.view
        if not start <= self.cursor_s <= stop:
            shift = self.cursor_s - (start + stop) / 2
            shift = min(max(shift, -start), max(1.0, self._course.end_s) - stop)
            self.view = (start + shift, stop + shift)
            self._draw()
        self._show_cursor()

    def _show_cursor(self) -> None:
        for lane in self.lanes:
            lane.show_cursor(self.cursor_s)
        self._read(self._words())

    def _words(self) -> str:
        course, curves = self._course, self._curves
        if course is None or curves is None or self.cursor_s is None:
            return ""
        words = [f"at {clock(self.cursor_s)}"]
        place = curves.place(self.cursor_s)
        if place is not None:
            for i in self._bands:
                words.append(f"{course.conditions[i].label} {amount(curves.mean_uv[place, i])}")
        after = np.flatnonzero(curves.rate_s >= self.cursor_s)
        if after.shape[0] and np.isfinite(curves.rate[after[0]]):
            words.append(f"{number(float(curves.rate[after[0]]), 1)} points a minute")
        for each in course.rounds:
            if each.start_s <= self.cursor_s < each.stop_s:
                words.append(f"round {each.number}")
        if any(span.start_s <= self.cursor_s < span.stop_s for span in course.spans):
            words.append("hidden")
        return "   ".join(words)

    def _time_at(self, at: QPointF) -> float:
        """Return the time below a place of this part."""
        lane = self.lanes[0]
        inside = lane.mapFrom(self, at.toPoint())
        return float(lane.box.mapSceneToView(QPointF(lane.mapToScene(inside))).x())

    def mousePressEvent(self, event: QMouseEvent | None) -> None:
        assert event is not None
        self.setFocus()
        if self.lanes:
            self.move_cursor(self._time_at(event.position()))

    def mouseMoveEvent(self, event: QMouseEvent | None) -> None:
        assert event is not None
        if self.lanes:
            self.move_cursor(self._time_at(event.position()))

    def wheelEvent(self, event: QWheelEvent | None) -> None:
        assert event is not None
        if self.lanes and event.angleDelta().y():
            closer = event.angleDelta().y() > 0
            self.zoom(CLOSER if closer else 1 / CLOSER, self._time_at(event.position()))

    def keyPressEvent(self, event: QKeyEvent | None) -> None:
        assert event is not None
        bin_s = self._curves.bin_s if self._curves else 1.0
        start, stop = self.view
        here = self.cursor_s if self.cursor_s is not None else (start + stop) / 2
        match event.key():
            case Key.Key_Left:
                self.move_cursor(here - bin_s)
            case Key.Key_Right:
                self.move_cursor(here + bin_s)
            case Key.Key_Plus | Key.Key_Equal:
                self.zoom(CLOSER)
            case Key.Key_Minus:
                self.zoom(1 / CLOSER)
            case Key.Key_Home:
                self.whole()
            case Key.Key_Backspace:
                self.undo()
            case _:
                super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent | None) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.look.colour("panel"))
        if self.hasFocus():
            painter.setPen(QPen(self.look.colour("focus"), 2))
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
