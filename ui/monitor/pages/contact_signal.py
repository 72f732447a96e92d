"""What the signal itself says of the contact, plainly marked as a substitute for impedances."""

from __future__ import annotations

from PyQt6.QtWidgets import QGridLayout

from engine.clinic import ContactLimits
from engine.practice.signal_contact import SUBSTITUTE, SignalSite, SignalView, SignalWord
from ui.monitor.pages.form import Card, Said
from ui.monitor.parts import Part, Words
from ui.monitor.wording import NOTHING
from ui.theme import BODY, SMALL

MOST_ADVICE = 3


class SignalRows(Part):
    """A row a signal: mains, drift, noise, and the first thing to look at."""

    def __init__(self, names: tuple[str, ...], limits: ContactLimits):
        super().__init__()
        self.cells: dict[str, tuple[Words, ...]] = {}
        self._grid = QGridLayout(self)
        heads = (
            "signal",
            f"mains, at most {limits.mains_uv:g} µV",
            f"drift in 10 s, at most {limits.drift_uv:g} µV",
            f"noise, at most {limits.noise_uv:g} µV/√Hz",
            "",
        )
        for column, head in enumerate(heads):
            self._grid.addWidget(Words(head, SMALL, "muted"), 0, column)
        for row, name in enumerate(names, start=1):
            self.cells[name] = cells = tuple(Words("", BODY) for _ in range(4))
            self._grid.addWidget(Words(name, BODY, bold=True), row, 0)
            for column, cell in enumerate(cells, start=1):
                self._grid.addWidget(cell, row, column)
        for column, share in enumerate((9, 16, 18, 18, 10)):
            self._grid.setColumnStretch(column, share)

    def fit(self) -> None:
        px = self.look.px
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(px(10))
        self._grid.setVerticalSpacing(px(4))

    def show_site(self, site: SignalSite) -> None:
        """Show the numbers of one signal."""
        mains = NOTHING if site.mains_uv is None else f"{site.mains_uv:.1f} at {site.mains_hz:g} Hz"
        noise = NOTHING if site.noise_uv is None else f"{site.noise_uv:.2f}"
        if site.word is SignalWord.EARLY:
            word, ink = f"– {site.word}", "muted"
        else:
            word, ink = f"{'✓' if site.fit else '!'} {site.word}", "zone" if site.fit else "lost"
        texts = (mains, f"{site.drift_uv:.0f}", noise, word)
        for cell, text in zip(self.cells[site.site], texts, strict=True):
            cell.say(text, ink if text == word else "text")


class SignalCard(Card):
    """`show_view` follows the signal, once a second."""

    def __init__(self, names: tuple[str, ...], limits: ContactLimits):
        super().__init__("What the signal says")
        self.rows = SignalRows(names, limits)
        self.said = Said()
        self.view: SignalView | None = None
        self.column.addWidget(Said(SUBSTITUTE, ink="muted"))
        self.column.addWidget(self.rows)
        self.column.addWidget(self.said)
        self.show_view(None)

    def show_view(self, view: SignalView | None) -> None:
        """Show the newest view; None: there is none yet."""
        self.view = view
        if view is None:
            self.said.say("The signal is looked at: a moment.")
            return
        for site in view.sites:
            if site.site in self.rows.cells:
                self.rows.show_site(site)
        unfit = [f"{site.site}: {site.advice}" for site in view.sites if not site.fit]
        self.said.say(*(unfit[:MOST_ADVICE] or [view.sites[0].advice if view.sites else ""]))
