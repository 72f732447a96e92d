"""The card of what is trained today: protocol, site and reference, from the plan and last time."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PyQt6.QtWidgets import QGridLayout

from engine.practice.sites import find_site
from engine.practice.visit import SIDES
from engine.protocol import Protocol
from engine.records.plans import Plan
from engine.records.sessions import BandKept, SessionKept
from ui.monitor.pages.form import Card, Field, Pick, Said, row_of
from ui.monitor.parts import Words
from ui.theme import BODY, SMALL

LABELS = 76
HEADS = ("at the end", "threshold", "mean", "time met", "before / after")
MOST_BANDS = 6


class PlanCard(Card):
    """What is trained; ``changed`` is called with every change."""

    def __init__(self, protocols: Sequence[Protocol], changed: Callable[[], object]):
        super().__init__("What is trained")
        self._changed = changed
        names = [protocol.name for protocol in protocols]
        self.protocols = {
            p.name if names.count(p.name) == 1 else f"{p.name} ({p.slug})": p for p in protocols
        }
        self.plan = Said(size=BODY)
        self.pick = Pick(tuple(self.protocols), lambda _: self._picked(), per_row=1)
        self.last = LastCard()
        self.site = Field("site", changed, 0, "C4", LABELS)
        self.reference = Field("reference", self._derive, 0, "A2", LABELS)
        self.ground = Field("ground", changed, 0, "A1", LABELS)
        self.side = Pick(SIDES, lambda _: changed(), size=SMALL)
        for part in (self.plan, self.pick):
            self.column.addWidget(part)
        for field in (self.site, self.reference, self.ground):
            self.column.addWidget(field)
        side = Words("reference lies", BODY, "muted", template="reference lies")
        self.column.addLayout(row_of(side, self.side, spacing=6))
        self.column.addStretch(1)
        self.show_before((), None)

    @property
    def protocol(self) -> Protocol | None:
        """The one that is picked."""
        return self.protocols.get(self.pick.picked)

    @property
    def missing(self) -> str:
        """What is still to be said here, in one sentence; empty if nothing."""
        if self.protocol is None:
            return "Choose the protocol."
        if not self.site.text:
            return "Write the site that is trained."
        return "" if self.side.picked or not self.reference.text else "Say the reference's side."

    def show_before(self, done: Sequence[SessionKept], plan: Plan | None) -> None:
        """Offer what was planned and what was trained last."""
        self._done = tuple(done)
        self.plan.say(*([f"Planned: {plan.words}"] if plan is not None else []))
        last = done[-1] if done else None
        slugs = [plan.protocol if plan else "", last.protocol if last else ""]
        wanted = [
            name for slug in slugs for name, p in self.protocols.items() if slug and p.slug == slug
        ]
        self.pick.show_picked(wanted[0] if wanted else "")
        self._picked()
        if plan is not None and plan.site:
            self.site.write(plan.site)

    def _picked(self) -> None:
        protocol = self.protocol
        last = self._last_of(protocol)
        site = last.site if last else protocol.site if protocol else ""
        self.site.write(site)
        self.reference.write((last.reference if last else protocol and protocol.reference) or "")
        self.ground.write(protocol.ground if protocol else "")
        self.last.show_last(protocol, last)
        self._derive()

    def _last_of(self, protocol: Protocol | None) -> SessionKept | None:
        slug = protocol.slug if protocol else ""
        return next((kept for kept in self._done[::-1] if kept.protocol == slug), None)

    def _derive(self) -> None:
        """Know the side of a reference that is a site."""
        site = find_site(self.reference.text)
        linked = "link" in self.reference.text.casefold()
        self.side.show_picked(site.side if site else "both" if linked else "")
        self._changed()


class LastCard(Card):
    """What a client's last session of a protocol ended with, and what that gave."""

    def __init__(self) -> None:
        super().__init__("Last time")
        self.words = Said(size=BODY)
        self._grid = QGridLayout()
        self._rows = [[Words("", BODY) for _ in HEADS] for _ in range(MOST_BANDS)]
        self._heads = [Words(head, SMALL, "muted") for head in HEADS]
        for row, parts in enumerate([self._heads, *self._rows]):
            for column, part in enumerate(parts):
                self._grid.addWidget(part, row, column)
        self.column.addWidget(self.words)
        self.column.addLayout(self._grid)
        self.foot = Said(size=SMALL + 1, ink="muted")
        self.column.addWidget(self.foot)

    def fit(self) -> None:
        super().fit()
        self._grid.setHorizontalSpacing(self.look.px(10))
        self._grid.setVerticalSpacing(self.look.px(3))

    def show_last(self, protocol: Protocol | None, last: SessionKept | None) -> None:
        """Show a session, or that there was none yet of this protocol."""
        self.words.say(*_last_words(protocol, last))
        bands = [band.on(last.scale) for band in last.bands[:MOST_BANDS]] if last else []
        for head in self._heads:
            head.setVisible(bool(bands))
        for place, row in enumerate(self._rows):
            texts = _band_words(bands[place]) if place < len(bands) else [""] * len(HEADS)
            for part, text in zip(row, texts, strict=True):
                part.say(text)
                part.setVisible(place < len(bands))
        foot = "The baseline offers these thresholds again, as they were and rescaled."
        self.foot.say(*([f"µV {last.scale}. {foot}"] if last else []))


def _last_words(protocol: Protocol | None, last: SessionKept | None) -> list[str]:
    if protocol is None:
        return ["Choose the protocol, and what it gave last time is shown."]
    if last is None:
        return ["It is the first session of this protocol: the baseline finds its thresholds."]
    gave = "no points" if last.rate is None else f"{last.rate:.1f} points a minute"
    clear = "" if last.clear_share is None else f", {last.clear_share:.0%} clear"
    number = f"Session {last.number}" if last.number else "A session"
    rated = "" if last.rating is None else f" Rated {last.rating} of 10."
    day = last.began_utc[:10]
    return [
        f"{number}, {day}, at {last.site}, by {last.operator or 'nobody named'}: "
        f"{gave}{clear}.{rated}"
    ]


def _band_words(band: BandKept) -> list[str]:
    def amplitude(value: float | None) -> str:
        return "-" if value is None else f"{value:.1f}"

    over = "over" if band.direction == "above" else "under"
    met = "-" if band.met_share is None else f"{band.met_share:.0%}"
    return [
        band.label,
        f"{over} {band.threshold_uv:.1f}",
        amplitude(band.mean_uv),
        met,
        f"{amplitude(band.before_uv)} / {amplitude(band.after_uv)}",
    ]
