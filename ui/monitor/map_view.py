"""The rate over two thresholds, to be clicked: a click chooses a point and sets nothing.

One nudge changes one setting. So the map offers the two single changes that lead to the point,
each with what it alone would give; they may be made one after the other.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from PyQt6.QtWidgets import QHBoxLayout, QVBoxLayout

from engine.reward.rate_map import RateMap
from engine.session.messages import Hello
from engine.settings import Settings
from ui.monitor.buttons import Press
from ui.monitor.map_picture import MapPicture, Point
from ui.monitor.memory import Memory
from ui.monitor.parts import CENTRE, Part, Words
from ui.monitor.wording import about, amount, inside, place_words, span_short, unit_words
from ui.theme import BODY, FIGURE, LARGE, SMALL

HINT = "a click chooses a point and sets nothing"


class MapView(Part):
    """The picture, the choice of bands, the rate at the point, and the two ways there."""

    def __init__(
        self,
        hello: Hello,
        set_threshold: Callable[[str, float], object],
        choose_map: Callable[[str, str], object],
    ):
        super().__init__()
        self._protocol = hello.protocol
        self._set, self._ask_map = set_threshold, choose_map
        self._labels = {c.band: c.label for c in hello.protocol.conditions}
        self._map: RateMap | None = None
        self._settings: Settings = hello.settings
        self._goals: list[tuple[str, float] | None] = [None, None]
        self._point: Point | None = None
        self.up = Words("", SMALL + 1)
        self.picture = MapPicture(self.choose)
        self.across = Words("", SMALL + 1, align=CENTRE)
        self.missing = Words("", LARGE - 2, "muted", align=CENTRE)
        self.bands = [Press("", "", lambda: self._turn(0)), Press("", "", lambda: self._turn(1))]
        self.where = Words("", BODY, "muted")
        self.rate = Words("–", FIGURE, template="000", digits=True)
        self.place = Words("", LARGE - 2, bold=True)
        self.ways = [
            Press("", "", lambda: self.go(0), BODY),
            Press("", "", lambda: self.go(1), BODY),
        ]
        self._hint = Words(HINT, SMALL, "muted")
        self._left, self._side = QVBoxLayout(), QVBoxLayout()
        self._left.addWidget(self.up)
        self._left.addWidget(self.missing, 1)
        self._left.addWidget(self.picture, 1)
        self._left.addWidget(self.across)
        self._choices = QHBoxLayout()
        for caption, press in zip(("across", "up"), self.bands, strict=True):
            self._choices.addWidget(Words(caption, BODY, "muted", template=caption))
            self._choices.addWidget(press, 1)
        self._side.addLayout(self._choices)
        self._side.addStretch(1)
        for words in (self.where, self.rate, self.place):
            self._side.addWidget(words, 0, words.place)
        for way in self.ways:
            self._side.addWidget(way)
        self._side.addStretch(2)
        self._side.addWidget(self._hint)
        self._row = QHBoxLayout(self)
        self._row.addLayout(self._left, 1)
        self._side_part = Part()
        self._side_part.setLayout(self._side)
        self._row.addWidget(self._side_part)

    def fit(self) -> None:
        px = self.look.px
        self._row.setContentsMargins(0, 0, px(4), px(2))
        self._row.setSpacing(px(14))
        for column in (self._left, self._side):
            column.setContentsMargins(0, 0, 0, 0)
        self._left.setSpacing(px(1))
        self._side.setSpacing(px(6))
        self._choices.setSpacing(px(6))
        self._side_part.setFixedWidth(px(272))

    # ---- what the operator does -------------------------------------------------------------

    def choose(self, at: Point) -> None:
        """Choose the point nearest to ``at`` that whole nudges lead to, inside the map."""
        if self._map is None:
            return
        bands = (self._map.across, self._map.up)
        sides = (self._map.across_uv, self._map.up_uv)
        found = []
        for band, side, value in zip(bands, sides, at, strict=True):
            today = self._settings.value(f"{band}.threshold")
            step = self._protocol.step(f"{band}.threshold")
            first, last = (float(side[i]) - today for i in (0, -1))
            least, most = np.ceil(first / step - 1e-9), np.floor(last / step + 1e-9)
            steps = min(max(np.round((value - today) / step), least), most)
            found.append(round(today + float(steps) * step, 6))
        self._point = (found[0], found[1])

    def go(self, way: int) -> None:
        """Make one of the two changes."""
        goal = self._goals[way]
        if goal is not None:
            self._set(*goal)

    def _turn(self, place: int) -> None:
        """Put the next band on an axis; where the other axis has it, they change places."""
        if self._map is None:
            return
        pair = [self._map.across, self._map.up]
        bands = list(self._labels)
        new = bands[(bands.index(pair[place]) + 1) % len(bands)]
        if new == pair[1 - place]:
            pair[1 - place] = pair[place]
        pair[place] = new
        self._point = None
        self._ask_map(pair[0], pair[1])

    # ---- what is shown ------------------------------------------------------------------------

    def show_status(self, memory: Memory) -> None:
        """Show the newest map, with today's point where it is at this moment."""
        foresight = memory.ahead.foresight
        found = foresight.map if foresight else None
        if found is not None and self._map is not None:
            same = (found.across, found.up) == (self._map.across, self._map.up)
            self._point = self._point if same else None
        self._map, self._settings = found, memory.settings
        for part in (self.picture, self.up, self.across, self._side_part):
            part.setVisible(found is not None)
        self.missing.setVisible(found is None)
        if found is None or foresight is None:
            self.missing.say(self._why_missing(memory))
            return
        today = (self._today(found.across), self._today(found.up))
        fresh = memory.foreseen or _alike(foresight.settings, memory.settings, found)
        zone = self._protocol.zone
        unit = unit_words(self._protocol)
        self.up.say(f"↑ {self._labels[found.up]} threshold, {unit}")
        self.across.say(f"{self._labels[found.across]} threshold, {unit} →")
        for press, band in zip(self.bands, (found.across, found.up), strict=True):
            press.say(self._labels[band])
            press.setEnabled(len(self._labels) > 2)
        self.picture.show_map(found, zone, today, self._point, fresh)
        self._show_point(memory, found, self._point or today, fresh)

    def _why_missing(self, memory: Memory) -> str:
        if len(self._labels) < 2:
            return "a map needs two conditions"
        return "the map comes with the first forecast, after 30 s of clear training"

    def _today(self, band: str) -> float:
        return self._settings.value(f"{band}.threshold")

    def _show_point(self, memory: Memory, found: RateMap, point: Point, fresh: bool) -> None:
        zone = self._protocol.zone
        names = (self._labels[found.across], self._labels[found.up])
        at = ", ".join(f"{n} {amount(v)}" for n, v in zip(names, point, strict=True))
        self.where.say(f"a minute at {at}")
        rate = rate_at(found, point)
        self.rate.say(about(rate), "text" if fresh else "muted")
        self.place.say(place_words(rate, zone), "zone" if inside(rate, zone) and fresh else "text")
        for i, (band, value) in enumerate(zip((found.across, found.up), point, strict=True)):
            key, way = f"{band}.threshold", self.ways[i]
            there = abs(value - self._today(band)) < 1e-6
            self._goals[i] = None if there else (key, value)
            way.setEnabled(not there)
            if there:
                way.say(f"{names[i]} is at {amount(value)}")
                continue
            alone = memory.ahead.at(key, value) if memory.foreseen else None
            words = f"{about(alone.rate)} ({span_short(alone)})" if alone else "cannot be told"
            way.say(f"{names[i]} to {amount(value)}: {words}")


def rate_at(found: RateMap, point: Point) -> float:
    """Return the rate of the cell that a point lies in."""
    across = abs(found.across_uv - point[0]).argmin()
    up = abs(found.up_uv - point[1]).argmin()
    return float(found.rates[up, across])


def _alike(made_for: Settings, now: Settings, found: RateMap) -> bool:
    """Whether settings differ in nothing but the two thresholds that the map is over."""
    for band in (found.across, found.up):
        key = f"{band}.threshold"
        made_for = made_for.changed(key, now.value(key))
    return made_for == now
