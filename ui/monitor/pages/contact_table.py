"""Sensors in rows: their impedance to write in, how each sits, and what to do about it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PyQt6.QtWidgets import QGridLayout

from engine.practice.contact import Contact, ContactView
from ui.monitor.pages.contact_sensors import Sensors, kohm_words, read_kohm
from ui.monitor.pages.form import Line, Said
from ui.monitor.parts import LEFT, Part, Words
from ui.theme import BODY, SMALL

HEADS = ("sensor", "kΩ", "sits", "what to do")
SIGNS = {
    Contact.GOOD: ("✓", "zone"),
    Contact.USABLE: ("✓", "zone"),
    Contact.UNKNOWN: ("–", "muted"),
}


class ContactTable(Part):
    """``kohm`` is what is known by sensor; ``changed`` is called after every edit.

    What is written by hand stands until its line is emptied; other lines follow the amplifier.
    """

    def __init__(self, sensors: Sensors, changed: Callable[[], object]):
        super().__init__()
        self._sensors, self._changed = sensors, changed
        self.kohm: dict[str, float | None] = dict.fromkeys(sensors.all)
        self.typed: set[str] = set()
        self.lines: dict[str, Line] = {}
        self.verdicts: dict[str, Words] = {}
        self.advice: dict[str, Said] = {}
        self._grid = QGridLayout(self)
        for column, head in enumerate(HEADS):
            self._grid.addWidget(Words(head, SMALL, "muted"), 0, column)
        for row, sensor in enumerate(sensors.all, start=1):
            role = sensors.role(sensor)
            name = sensor if sensor == role else f"{sensor}, {role}"
            self.lines[sensor] = line = Line("kΩ", self._typing(sensor))
            line.setAccessibleName(f"impedance of {name} in kilo-ohms")
            self.verdicts[sensor] = Words("", BODY, template="! not connected")
            self.advice[sensor] = advice = Said()
            advice.setAlignment(LEFT)
            self._grid.addWidget(Words(name, BODY, bold=True, template="reference, wide"), row, 0)
            self._grid.addWidget(line, row, 1)
            self._grid.addWidget(self.verdicts[sensor], row, 2)
            self._grid.addWidget(self.advice[sensor], row, 3)
        self._grid.setColumnStretch(3, 1)

    def fit(self) -> None:
        px = self.look.px
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(px(10))
        self._grid.setVerticalSpacing(px(4))
        for line in self.lines.values():
            line.setFixedWidth(px(70))

    @property
    def wrong(self) -> list[str]:
        """What is written and is no impedance."""
        texts = {sensor: line.text().strip() for sensor, line in self.lines.items()}
        return [
            f"{sensor}: “{text}” is no impedance; write kilo-ohms, as 4.2 or 4,2."
            for sensor, text in texts.items()
            if text and read_kohm(text) is None
        ]

    def _typing(self, sensor: str) -> Callable[[], object]:
        return lambda: self._written(sensor)

    def _written(self, sensor: str) -> None:
        text = self.lines[sensor].text().strip()
        self.typed.add(sensor) if text else self.typed.discard(sensor)
        self.kohm[sensor] = read_kohm(text)
        self._changed()

    def write(self, kohm: Mapping[str, float | None]) -> None:
        """Put in what was written down before."""
        for sensor, value in kohm.items():
            if sensor in self.lines and value is not None:
                self.lines[sensor].setText(kohm_words(value))
                self.typed.add(sensor)
                self.kohm[sensor] = value

    def hear(self, kohm: Mapping[str, float | None]) -> bool:
        """Fill in what the amplifier sends; return whether anything changed."""
        changed = False
        for sensor, value in self._sensors.heard(kohm).items():
            if sensor in self.typed or self.kohm[sensor] == value:
                continue
            self.kohm[sensor] = value
            self.lines[sensor].setText("" if value is None else kohm_words(value))
            changed = True
        return changed

    def show_view(self, view: ContactView) -> None:
        """Show how each sensor sits."""
        for site in view.sites:
            sign, ink = SIGNS.get(site.verdict, ("!", "lost"))
            self.verdicts[site.site].say(f"{sign} {site.verdict}", ink)
            known = site.verdict is not Contact.UNKNOWN
            self.advice[site.site].ink("text" if known else "muted")
            self.advice[site.site].say(site.advice)
