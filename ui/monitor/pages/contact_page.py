"""The page for the hookup: its steps, and whether every sensor sits well."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from PyQt6.QtCore import Qt
from PyQt6.QtWidgets import QHBoxLayout, QVBoxLayout

from engine.practice.checklist import hookup_steps
from engine.practice.contact import ContactView, judge
from engine.practice.signal_contact import SignalView
from engine.session.impedances import ImpedanceView
from engine.session.messages import Hello, Status
from ui.monitor.memory import Memory
from ui.monitor.pages.contact_sensors import sensors_of
from ui.monitor.pages.contact_signal import SignalCard
from ui.monitor.pages.contact_table import ContactTable
from ui.monitor.pages.form import Button, Card, Page, Said, Tick
from ui.monitor.parts import Words
from ui.monitor.trace_strip import TraceStrip
from ui.theme import BODY

SaveEntry = Callable[[str, dict[str, Any]], object]


class ContactPage(Page):
    """Steps to tick, impedances typed in or sent, and without them the signal's own word.

    Parameters
    ----------
    save_entry : takes the topic ``contact`` and plain JSON values: ``kohm`` and ``sits`` by
        sensor (no number where none is known), ``spread_kohm``, ``fit``, ``from``, ``signal``
        (what the signal said by name), ``done`` and ``left`` (the steps).
    """

    def __init__(self, hello: Hello, save_entry: SaveEntry):
        super().__init__("")
        protocol = hello.protocol
        self._save_entry, self._limits = save_entry, hello.contact
        self._sensors = sensors_of(protocol)
        self._heard: ImpedanceView | None = None
        self._kept: object = None
        self.view: ContactView = judge({}, self._limits)
        self.ticks: dict[str, Tick] = {}
        self.table = ContactTable(self._sensors, self._look_again)
        self.spread = Words("", BODY, "muted")
        self.advice = Words("", BODY + 1, bold=True)
        self.trouble = Said(ink="lost")
        self.source = Said(ink="muted")
        self.trace = TraceStrip(hello)
        self.signal = SignalCard(hello.signals, self._limits)
        self.save = Button("Save the contact", self.save_contact)
        self._left = Card("Hook up")
        site, *others = (" and ".join(names) for names in self._roles)
        for step in hookup_steps(site, *others):
            box = Tick(step.text, self._say)
            box.setToolTip(step.why)
            self.ticks[step.key] = box
            self._left.column.addWidget(box)
        self._left.column.addStretch(1)
        self._columns, self._right = QHBoxLayout(), QVBoxLayout()
        self._right.addWidget(self._impedances())
        self._right.addWidget(self.signal)
        self._right.addWidget(self.trace, 1)
        self._columns.addWidget(self._left)
        self._columns.addLayout(self._right, 1)
        self.column.addLayout(self._columns, 1)
        self._look_again()

    @property
    def _roles(self) -> tuple[tuple[str, ...], ...]:
        """Site, reference and ground; the latter two only where they are named."""
        sensors = self._sensors
        named = [
            () if names == (role,) else names
            for role, names in (("reference", sensors.reference), ("ground", sensors.ground))
        ]
        return (sensors.sites, *named)

    def _impedances(self) -> Card:
        limits = self._limits
        card = Card(
            f"Impedances: at most {limits.most_kohm:g} kΩ, better {limits.better_kohm:g}, within "
            f"{limits.spread_kohm:g} of each other"
        )
        for part in (self.table, self.spread, self.advice, self.trouble):
            card.column.addWidget(part)
        foot = QHBoxLayout()
        foot.addWidget(self.source, 1)
        foot.addWidget(self.save, 0, Qt.AlignmentFlag.AlignRight)
        card.column.addLayout(foot)
        return card

    def fit(self) -> None:
        super().fit()
        for layout in (self._columns, self._right):
            layout.setSpacing(self.look.px(7))
        self._left.setFixedWidth(self.look.px(452))
        self.trace.setMinimumHeight(self.look.px(40))
        self.trace.setMaximumHeight(self.look.px(500))

    # ---- what is shown ------------------------------------------------------------------------

    def show_status(self, status: Status) -> None:
        """Follow what the amplifier sends and what the signal says."""
        self._heard = status.impedances
        if status.contact != self.signal.view:
            self.signal.show_view(status.contact)
        if self._heard is not None and self.table.hear(self._heard.kohm):
            self._look_again()
        else:
            self._say()

    def show_kept(self, values: Mapping[str, Any]) -> None:
        """Show what was saved before."""
        self.table.write(values.get("kohm") or {})
        for key in values.get("done") or ():
            if key in self.ticks:
                self.ticks[key].setChecked(True)
        self._look_again()
        self._kept = self._state
        self._say()

    def show_now(self, memory: Memory) -> None:
        """Draw the newest picture of the trace."""
        self.trace.show_status(memory)
        self.trace.show_now(memory)

    # ---- what the operator does ---------------------------------------------------------------

    def save_contact(self) -> None:
        """Hand over what is known of the contact."""
        self._kept = self._state
        signal = {} if self.signal.view is None else _signal_values(self.signal.view)
        self._save_entry("contact", self._values() | {"signal": signal})
        self._say()

    @property
    def _state(self) -> object:
        """What has to be saved anew when it changes; an amplifier's last digit never rests."""
        values = self._values()
        typed = {sensor: values["kohm"][sensor] for sensor in self.table.typed}
        return typed, values["sits"], values["done"]

    def _values(self) -> dict[str, Any]:
        view = self.view
        typed = bool(self.table.typed)
        heard = any(value is not None for value in self.table.kohm.values()) and not typed
        return {
            "kohm": {site.site: _plain(site.kohm) for site in view.sites},
            "sits": {site.site: str(site.verdict) for site in view.sites},
            "spread_kohm": _plain(view.spread_kohm),
            "fit": view.fit,
            "from": "typed" if typed else "amplifier" if heard else "signal",
            "done": [key for key, box in self.ticks.items() if box.isChecked()],
            "left": [key for key, box in self.ticks.items() if not box.isChecked()],
        }

    def _look_again(self) -> None:
        """Judge anew what is known."""
        self.view = judge(self.table.kohm, self._limits, self._sensors.common)
        self.table.show_view(self.view)
        self._say()

    # ---- what is said -------------------------------------------------------------------------

    def _say(self) -> None:
        view, wrong = self.view, self.table.wrong
        limit = f"at most {self._limits.spread_kohm:g}"
        spread = view.spread_kohm
        self.spread.say("" if spread is None else f"They lie {spread:.1f} kΩ apart, {limit}.")
        self.advice.say(view.advice, "zone" if view.fit else "text")
        self.trouble.say(*wrong)
        self.source.say(*self._where_from())
        saved = self._kept == self._state
        self.save.setEnabled(not wrong and not saved)
        self.save.say(self.save.text(), "focus" if view.fit and not saved else "")
        self.next.say(self._to_do(saved))

    def _where_from(self) -> list[str]:
        heard = self._heard
        if heard is None:
            return []
        if not heard.kohm:
            return [heard.remark]
        said = [f"From the amplifier: {heard.stream}.", heard.remark]
        if self.table.typed:
            names = ", ".join(s for s in self._sensors.all if s in self.table.typed)
            said.append(f"Typed in: {names}; empty the line to take the amplifier's.")
        return [sentence for sentence in said if sentence]

    def _to_do(self, saved: bool) -> str:
        if saved:
            return "The contact is saved: go on to the check with the client."
        n_left = sum(not box.isChecked() for box in self.ticks.values())
        if self.view.fit:
            return "Every sensor sits well: save the contact."
        if any(value is not None for value in self.table.kohm.values()):
            return f"{self.view.advice} Then save the contact."
        if n_left:
            steps = "1 step is" if n_left == 1 else f"{n_left} steps are"
            return f"Hook the client up: {steps} left. Then type in the impedances."
        return "Type in the impedances, or go by the signal below; then save."


def _plain(kohm: float | None) -> float | None:
    """Return a number that JSON knows; an open lead has none."""
    return None if kohm is None or not math.isfinite(kohm) else round(kohm, 3)


def _signal_values(view: SignalView) -> dict[str, Any]:
    return {
        site.site: {
            "word": str(site.word),
            "mains_uv": None if site.mains_uv is None else round(site.mains_uv, 3),
            "drift_uv": round(site.drift_uv, 3),
            "noise_uv": None if site.noise_uv is None else round(site.noise_uv, 4),
        }
        for site in view.sites
    }
