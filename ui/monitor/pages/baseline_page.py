"""The page for the baselines before and after training, and the thresholds to start with."""

from __future__ import annotations

from collections.abc import Callable
from math import isnan

from PyQt6.QtWidgets import QHBoxLayout

from engine.protocol import Protocol
from engine.reward.baseline import SHARES, Start
from engine.reward.forecast import LEAST_CLEAR_S
from engine.session.last_time import LastTime, as_it_was, rescaled
from engine.session.stretches import BASELINE_S, COMPLETE, StretchResult, StretchView
from ui.monitor.pages.baseline_picture import BaselinePicture, PictureRow
from ui.monitor.pages.baseline_table import FOUND, LAST, RESCALED, BaselineTable
from ui.monitor.pages.form import Button, Card, Field, Page, Pick, Said, row_of
from ui.monitor.pages.stretch_bar import StretchBar
from ui.monitor.parts import Words
from ui.monitor.wording import NOTHING, clock, number, percent, unit_words
from ui.theme import BODY

BEFORE, AFTER = "baseline before", "baseline after"
MINUTES = ("1", "2", "3", "5")
Pairs = list[tuple[str, float]]


class BaselinePage(Page):
    """Runs the baselines and offers thresholds.

    Parameters
    ----------
    start, stop : begin a stretch of so many clear seconds (`engine.events.STRETCHES`); end it.
    accept : takes the thresholds that are to be used, pairs of a setting's key and its value.
    ask : called for thresholds anew: points a minute (None: by the shares alone), and the share
        of time of each band, 0-1. The answer comes back through `show_start`.
    """

    def __init__(
        self,
        protocol: Protocol,
        start: Callable[[str, float], object],
        stop: Callable[[], object],
        accept: Callable[[Pairs], object],
        ask: Callable[[float | None, dict[str, float]], object] = lambda target, shares: None,
    ):
        super().__init__("")
        self._protocol = protocol
        self._start, self._accept, self._ask = start, accept, ask
        self._view: StretchView | None = None
        self._results: dict[str, StretchResult] = {}
        self._found: Start | None = None
        self._last: LastTime | None = None
        self._used: int | None = None
        self._asked: tuple[float | None, dict[str, float]] | None = None
        self.minutes = Pick(MINUTES, lambda _: self._say(), f"{BASELINE_S / 60:.0f}")
        self.before = Button("Begin baseline before", lambda: self._begin(BEFORE))
        self.after = Button("Begin baseline after", lambda: self._begin(AFTER))
        self.stop = Button("stop", stop)
        self.bar = StretchBar()
        self.target = Field("points a minute", width=66, hint="none")
        self.target.write(f"{sum(protocol.zone) / 2:g}")
        self.target.line.editingFinished.connect(self.find_again)
        self.trouble = Said(ink="lost")
        self.table = BaselineTable(protocol, self.use, self.find_again)
        self.said = Said()
        self.picture = BaselinePicture()
        self._columns = QHBoxLayout()
        self._columns.addWidget(self._baseline_card())
        self._columns.addWidget(self._table_card(), 1)
        self.column.addLayout(self._columns, 1)
        self._show_results()

    def _baseline_card(self) -> Card:
        self._left = card = Card("Baseline")
        card.column.addWidget(
            Said(
                f"Eyes {self._protocol.eyes} and the scene as in training, but no points and no "
                "sound. The client sits and looks as later, and does nothing else.",
                ink="muted",
            )
        )
        clear_minutes = Words("clear minutes", BODY, "muted", template="clear minutes")
        card.column.addLayout(row_of(clear_minutes, self.minutes))
        for button in (self.before, self.after):
            card.column.addWidget(button)
        card.column.addSpacing(8)
        card.column.addWidget(self.bar)
        card.column.addWidget(self.stop)
        card.column.addStretch(1)
        card.column.addWidget(Words("Thresholds that give", BODY + 1, bold=True))
        card.column.addWidget(self.target)
        card.column.addWidget(
            Said(
                "The shares of time of the bands that are kept down stay as wanted; those of the "
                "bands that are rewarded move until the points come so often. Leave it empty to "
                "keep all shares.",
                ink="muted",
            )
        )
        card.column.addWidget(self.trouble)
        return card

    def _table_card(self) -> Card:
        card = Card(f"{self._protocol.name}, {unit_words(self._protocol)}")
        card.column.addWidget(self.table)
        card.column.addSpacing(6)
        card.column.addWidget(self.said)
        card.column.addSpacing(6)
        card.column.addWidget(self.picture, 1)
        return card

    def fit(self) -> None:
        super().fit()
        self._columns.setSpacing(self.look.px(7))
        self._left.setFixedWidth(self.look.px(292))

    # ---- what the operator does ---------------------------------------------------------------

    def _begin(self, what: str) -> None:
        self._start(what, 60.0 * float(self.minutes.picked))

    @property
    def done(self) -> tuple[str, ...]:
        """The baselines that were taken."""
        return tuple(self._results)

    def find_again(self) -> None:
        """Ask for thresholds at the target and the shares that are written."""
        wanted = self._wanted()
        if wanted is not None and wanted != self._asked and self._enough:
            self._asked = wanted
            self._ask(*wanted)

    def _wanted(self) -> tuple[float | None, dict[str, float]] | None:
        """Return target and shares, or None where one of them is no number; says which."""
        low, high = SHARES
        target: float | None = None
        wrong = ""
        if self.target.text:
            target = _number(self.target.text)
            if target is None or not target > 0:
                wrong = f"Points a minute: “{self.target.text}” is no number above 0."
        shares: dict[str, float] = {}
        for band, line in self.table.shares.items():
            share = _number(line.text().removesuffix("%"))
            if share is None or not low <= share / 100 <= high:
                wrong = f"{band}: “{line.text()}” is no share of {100 * low:g} to {100 * high:g} %."
            else:
                shares[band] = round(share / 100, 6)
        self.trouble.say(*([wrong] if wrong else []))
        return None if wrong else (target, shares)

    def use(self, column: int) -> None:
        """Hand over the thresholds of a column."""
        pairs = self._offers().get(column)
        if pairs:
            self._used = column
            self._accept(list(pairs))
            self._say()

    # ---- what is shown ------------------------------------------------------------------------

    def show_status(self, view: StretchView | None) -> None:
        """Follow what runs; None: nothing does."""
        if view != self._view:
            self._view = view
            self.bar.show_view(view)
            self._say()

    def show_result(self, result: StretchResult) -> None:
        """Show what a baseline came to; thresholds are asked for after the one before training.

        The same result may be shown again and again; checks have no place here.
        """
        known = self._results.get(result.what)
        same = known is not None and _when(known) == _when(result)
        if same or result.what not in (BEFORE, AFTER):
            return
        self._results[result.what] = result
        if result.what == BEFORE:
            self._asked = self._used = self._found = None
            self.table.show_start(None)
        self._show_results()
        if result.what == BEFORE:
            self.find_again()

    def show_start(self, start: Start | None) -> None:
        """Show thresholds found in the baseline; None: they could not be told."""
        self._found = start
        self.table.show_start(start)
        if self._used == FOUND:
            self._used = None
        self._say()

    def show_last(self, view: LastTime | None) -> None:
        """Offer the end of the last session."""
        self._last = view
        self._show_results()

    def _offers(self) -> dict[int, Pairs]:
        """Return what each column would set."""
        offers: dict[int, Pairs] = {}
        if self._found is not None:
            settings = self._found.settings
            keys = [f"{band}.threshold" for band in settings.bands]
            offers[FOUND] = [(key, settings.value(key)) for key in keys]
        if self._last is not None:
            known = set(self._protocol.settings.keys)
            as_was = as_it_was(self._last, self._protocol.scale)
            offers[LAST] = [(key, value) for key, value in as_was if key in known]
            moved = rescaled(self._last, self._today(), self._protocol.scale)
            if moved is not None:
                offers[RESCALED] = [(key, value) for key, value in moved if key in known]
        return offers

    def _today(self) -> dict[str, float]:
        """Return today's means by band."""
        before = self._results.get(BEFORE)
        if before is None:
            return {}
        bands = (c.band for c in self._protocol.conditions)
        return {b: m for b, m in zip(bands, before.mean_uv, strict=True) if not isnan(m)}

    @property
    def _enough(self) -> bool:
        before = self._results.get(BEFORE)
        return before is not None and before.clear_s >= LEAST_CLEAR_S

    def _show_results(self) -> None:
        self.table.show_results(self._results.get(BEFORE), self._results.get(AFTER))
        offers = self._offers()
        gave = NOTHING if self._last is None else f"gave {number(self._last.rate, 1)}"
        self.table.show_offer(LAST, offers.get(LAST), gave)
        self.table.show_offer(RESCALED, offers.get(RESCALED), NOTHING)
        self._say()

    def _picture_rows(self) -> tuple[PictureRow, ...]:
        offers = self._offers()
        trained = dict(offers.get(FOUND if self._used is None else self._used, ()))
        rows = []
        for i, condition in enumerate(self._protocol.conditions):
            spreads = [
                (result.mean_uv[i], result.sd_uv[i]) if result is not None else None
                for result in (self._results.get(what) for what in (BEFORE, AFTER))
            ]
            threshold = trained.get(f"{condition.band}.threshold")
            rows.append(PictureRow(condition, spreads[0], spreads[1], threshold))
        return tuple(rows)

    # ---- what is said -------------------------------------------------------------------------

    def _say(self) -> None:
        running = self._view is not None
        for button in (self.before, self.after):
            button.setEnabled(not running)
        self.stop.setEnabled(running)
        before, after = (what in self._results for what in (BEFORE, AFTER))
        due = self._used is not None and not after
        self.before.say(self.before.text(), "" if running or before else "focus")
        self.after.say(self.after.text(), "focus" if due and not running else "")
        self.table.show_used(self._used)
        self.picture.show_rows(self._picture_rows())
        self.next.say(self._to_do())
        self.said.say(*self._sentences())

    def _to_do(self) -> str:
        view, before = self._view, self._results.get(BEFORE)
        if view is not None:
            return f"{view.what.capitalize()} runs; it ends by itself. Let the client sit still."
        if AFTER in self._results:
            return "Both are there: go on and look back with the client."
        if self._used is not None:
            return "The thresholds are set: train. Afterwards comes the baseline after."
        if before is None:
            minutes = self.minutes.picked
            return f"Begin the baseline before training: about {minutes} clear minutes."
        if not self._enough:
            return (
                f"Only {before.clear_s:.0f} s were clear, {LEAST_CLEAR_S:.0f} s are needed: "
                "look after the signal and begin again."
            )
        return "Choose the thresholds to train with."

    def _sentences(self) -> list[str]:
        said = []
        for what, result in self._results.items():
            if result.why != COMPLETE:
                said.append(
                    f"The {what} was broken off after {clock(result.elapsed_s)} ({result.why})."
                )
        if self._found is not None:
            f = self._found.forecast
            said.append(
                f"Today's thresholds: about {number(f.rate, 0)} points a minute of clear time, "
                f"{number(f.low, 0)} to {number(f.high, 0)} in four stretches of five. If no band "
                f"knew of another it would be {number(self._found.independent_rate, 0)}."
            )
        if self._last is not None:
            said += self._last_sentences(self._last)
        return said

    def _last_sentences(self, last: LastTime) -> list[str]:
        clear = "" if last.clear_share is None else f", {percent(last.clear_share)} clear"
        gave = NOTHING if last.rate is None else f"{number(last.rate, 1)} points a minute{clear}"
        said = [f"Last time, {last.session}: {gave}."]
        if last.scale != self._protocol.scale:
            said.append(f"Its amplitudes were {last.scale}; they are converted here.")
        if RESCALED in self._offers():
            said.append(
                "Rescaled: each threshold moved as the band's amplitude at rest moved since then."
            )
        elif self._results.get(BEFORE) is not None:
            said.append("They cannot be rescaled: last time had no baseline of these bands.")
        return said


def _when(result: StretchResult) -> tuple[float, float]:
    """Return what tells one stretch from another of its kind."""
    return result.onset_s, result.elapsed_s


def _number(text: str) -> float | None:
    """Return the number that was written, with a point or a comma; None where it is none."""
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        return None
