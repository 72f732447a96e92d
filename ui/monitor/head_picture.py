"""A head seen from above, with its sites, and what is hooked up today.

Site, reference and ground differ in shape and are named in words: a disc, a square, a triangle.
The way that the tape goes to the chosen site is drawn as a thick line with its length.
"""

from __future__ import annotations

import math

from PyQt6.QtCore import QPointF, QRectF, Qt
from PyQt6.QtGui import QFontMetrics, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PyQt6.QtWidgets import QSizePolicy

from engine.practice.distances import distance_of
from engine.practice.head import Head
from engine.practice.head_map import INION, NASION, RING, Place, head_map
from engine.practice.lengths import bare
from engine.practice.sites import AROUND, EAR, HELPERS, MIDLINE, MIDWAY, Site, find_site
from ui.monitor.parts import CENTRE, Part
from ui.theme import SMALL, Look

MARKS = {"site": "reward", "reference": "inhibit", "ground": "zone"}
"""What a sensor is, and its colour."""

WIDE, TALL = 2.62, 2.6
"""Of the picture, in radii of the head; ears and words beside it included."""

SLENDER = 0.9
"""Heads are longer than wide; across, the map is drawn narrower by so much."""


def draw_mark(painter: QPainter, look: Look, mark: str, x: float, y: float, radius: float) -> None:
    """Draw a disc for a site, a square for a reference, a triangle for a ground."""
    painter.setPen(QPen(look.colour("text"), max(1.0, radius / 7)))
    painter.setBrush(look.colour(MARKS[mark]))
    if mark == "site":
        painter.drawEllipse(QPointF(x, y), radius, radius)
    elif mark == "reference":
        side = 0.9 * radius
        painter.drawRect(QRectF(x - side, y - side, 2 * side, 2 * side))
    else:
        high = 1.25 * radius
        painter.drawPolygon(
            QPolygonF(
                [
                    QPointF(x, y - high),
                    QPointF(x - 1.1 * radius, y + 0.75 * high),
                    QPointF(x + 1.1 * radius, y + 0.75 * high),
                ]
            )
        )


class HeadPicture(Part):
    """``marks`` are names of sites by what they are: ``{"site": ("C4",), "ground": ("A1",)}``."""

    def __init__(self, marks: dict[str, tuple[str, ...]]):
        super().__init__()
        self.marks = marks
        self._head: Head | None = None
        self.setMinimumSize(120, 120)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def show_head(self, head: Head | None) -> None:
        """Write the distances of a head along the way of the tape."""
        self._head = head
        self.update()

    def show_marks(self, marks: dict[str, tuple[str, ...]]) -> None:
        """Mark other sites."""
        self.marks = marks
        self.update()

    # ---- where things lie ---------------------------------------------------------------------

    @property
    def _radius(self) -> float:
        return min(self.width() / (WIDE * SLENDER), self.height() / TALL)

    def _at(self, place: Place) -> QPointF:
        """Return where a place of the map lies in the widget."""
        radius, middle = self._radius, QPointF(self.width() / 2, self.height() * 0.52)
        return middle + QPointF(place[0] * radius * SLENDER, -place[1] * radius)

    def _oval(self, radius: float) -> QRectF:
        top_left, low_right = self._at((-radius, radius)), self._at((radius, -radius))
        return QRectF(top_left, low_right)

    # ---- painting -----------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent | None) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_head(painter)
        chosen = [find_site(name) for name in self.marks.get("site", ())]
        for site in chosen:
            if site is not None:
                self._paint_way(painter, site)
        self._paint_sites(painter)
        for mark in MARKS:
            for name in self.marks.get(mark, ()):
                self._paint_mark(painter, mark, name)
        for site in chosen:
            if site is not None:
                self._write_way(painter, site)

    def _paint_head(self, painter: QPainter) -> None:
        look, unit = self.look, self._radius
        painter.setPen(QPen(look.colour("muted"), max(1.5, unit / 110)))
        painter.setBrush(look.colour("ground"))
        for side in (-1, 1):
            ear = QPainterPath(self._at((side * 0.985, 0.16)))
            ear.cubicTo(
                self._at((side * 1.26, 0.26)),
                self._at((side * 1.22, -0.2)),
                self._at((side * 0.985, -0.2)),
            )
            painter.drawPath(ear)
        nose = QPainterPath(self._at((-0.16, 0.98)))
        nose.quadTo(self._at((-0.05, 1.02)), self._at((-0.03, 1.1)))
        nose.quadTo(self._at((0.0, 1.16)), self._at((0.03, 1.1)))
        nose.quadTo(self._at((0.05, 1.02)), self._at((0.16, 0.98)))
        painter.drawPath(nose)
        painter.drawEllipse(self._oval(1.0))
        painter.setPen(QPen(look.colour("line"), max(1.0, unit / 160)))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(self._oval(RING))
        painter.drawLine(self._at(NASION), self._at(INION))
        painter.drawLine(self._at((-1.0, 0.0)), self._at((1.0, 0.0)))
        painter.setFont(look.font(SMALL))
        painter.setPen(look.colour("muted"))
        for place, words in (
            ((-0.95, 1.02), "client's left"),
            ((0.95, 1.02), "right"),
            ((0.0, 1.22), "nasion"),
            ((0.0, -1.09), "inion"),
        ):
            self._write(painter, self._at(place), words)

    def _write(self, painter: QPainter, at: QPointF, words: str, ground: str = "") -> None:
        metrics = QFontMetrics(painter.font())
        box = QRectF(0, 0, metrics.horizontalAdvance(words) + 4, metrics.height())
        box.moveCenter(at)
        box.moveLeft(max(0.0, min(box.left(), self.width() - box.width())))
        if ground:
            painter.fillRect(box.adjusted(1, 1, -1, -1), self.look.colour(ground))
        painter.drawText(box, int(CENTRE), words)

    def _paint_sites(self, painter: QPainter) -> None:
        look, dot = self.look, self._radius * 0.085
        taken = {name for names in self.marks.values() for name in names}
        helpers = {site.name for site in HELPERS}
        painter.setFont(look.font(SMALL - 0.5))
        for name, place in head_map().items():
            if name in taken or name in ("M1", "M2"):
                continue
            at = self._at(place)
            if name in helpers:
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(look.colour("muted"))
                painter.drawEllipse(at, dot / 3, dot / 3)
                continue
            painter.setPen(QPen(look.colour("line"), 1))
            painter.setBrush(look.colour("raised"))
            painter.drawEllipse(at, dot, dot)
            painter.setPen(look.colour("text"))
            self._write(painter, at, name)

    def _paint_mark(self, painter: QPainter, mark: str, name: str) -> None:
        place = head_map().get(name)
        if place is None:
            return
        at, radius = self._at(place), self._radius * 0.115
        draw_mark(painter, self.look, mark, at.x(), at.y(), radius)
        painter.setFont(self.look.font(SMALL, bold=True))
        painter.setPen(self.look.colour("on_strong"))
        low = radius * 0.22 if mark == "ground" else 0.0
        self._write(painter, at + QPointF(0, low), name)
        painter.setPen(self.look.colour("text"))
        painter.setFont(self.look.font(SMALL))
        below = radius * 1.3 + QFontMetrics(painter.font()).height() / 2
        self._write(
            painter, at + QPointF(0, below), mark, "panel" if abs(place[0]) > 1 else "ground"
        )

    # ---- the way of the tape ------------------------------------------------------------------

    def _way(self, site: Site) -> list[Place]:
        """Return the way from the landmark to a site, on the map."""
        there = head_map()
        if site.line == EAR:
            return []
        if site.line == MIDWAY:
            return [there[site.start], there[site.name]]
        if site.line == MIDLINE:
            return [NASION, there[site.name]]
        if site.line == AROUND:
            right = -1 if site.side == "left" else 1
            turns = [2 * math.pi * site.fraction * i / 24 for i in range(25)]
            return [(right * RING * math.sin(t), RING * math.cos(t)) for t in turns]
        return [there[site.start], there[site.name]]

    def _paint_way(self, painter: QPainter, site: Site) -> None:
        way = [self._at(place) for place in self._way(site)]
        if way:
            painter.setPen(QPen(self.look.colour("reward"), max(2.0, self._radius / 45)))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawPolyline(QPolygonF(way))

    def _write_way(self, painter: QPainter, site: Site) -> None:
        way = self._way(site)
        if not way or self._head is None:
            return
        found = distance_of(site, self._head)
        if found.cm is None:
            return
        middle = way[len(way) // 2] if len(way) > 2 else _between(way[0], way[1])
        words = f"{bare(found.cm, self._head.unit)} {self._head.unit}"
        painter.setFont(self.look.font(SMALL, bold=True))
        metrics = QFontMetrics(painter.font())
        at = self._at(middle) - QPointF(0, self._radius * 0.1 + metrics.height() / 2)
        box = QRectF(0, 0, metrics.horizontalAdvance(words) + 8, metrics.height())
        box.moveCenter(at)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self.look.colour("ground"))
        painter.drawRoundedRect(box, 3, 3)
        painter.setPen(self.look.colour("reward"))
        painter.drawText(box, int(CENTRE), words)


def _between(first: Place, second: Place) -> Place:
    return (first[0] + second[0]) / 2, (first[1] + second[1]) / 2
