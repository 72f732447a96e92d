"""The first page of a visit: who works, who came, what is asked of them, and what is trained."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from PyQt6.QtGui import QShowEvent
from PyQt6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from engine.errors import ConfigError, NudgelineError
from engine.practice.visit import Consent, Visit, visit_from, visit_id_for
from engine.protocol import Protocol
from engine.records.clients import Client, add_client, clients
from engine.records.consents import Kept, keep_consent, last_consent
from engine.records.effects import Effect, due_followups
from engine.records.opening import LockedError, Records, open_records
from engine.records.plans import Plan, last_plan
from engine.records.sessions import SessionKept, sessions
from ui.monitor.pages.client_first import FirstCard
from ui.monitor.pages.client_plan import PlanCard
from ui.monitor.pages.client_today import Follow, TodayCard
from ui.monitor.pages.client_who import WhoCard
from ui.monitor.pages.form import Button, Page
from ui.monitor.parts import Part
from ui.theme import LARGE

Begin = Callable[[Visit, str], object]


def _now() -> datetime:
    return datetime.now(UTC)


class ClientPage(Page):
    """Receives a client.

    Parameters
    ----------
    path : the database of clients; made where it is not there, after a passphrase was asked for
        (``ask_new``).
    begin : called with the visit and the slug of the protocol when all that is asked is answered.
    operator : who is signed in already. passphrase : what is known to open the records.

    ``records`` are the open ones, None while they are locked or cannot be opened; a visit can
    begin without them too, since its recording carries all that is written here.
    """

    def __init__(
        self,
        path: Path,
        protocols: Sequence[Protocol],
        begin: Begin,
        operator: str = "",
        passphrase: str = "",
        *,
        ask_new: bool = True,
        now: Callable[[], datetime] = _now,
    ):
        super().__init__("")
        self._path, self._begin, self._now = path, begin, now
        self.records: Records | None = None
        self.passphrase = passphrase
        self.visit: Visit | None = None
        self._kept: Kept | None = None
        self._number, self._asked_of = 1, ""
        self.who = WhoCard(operator, self.unlock, self._chosen, self._say)
        self.today = TodayCard(self._say)
        self.plan = PlanCard(protocols, self._say)
        self.first = FirstCard(self._say, now)
        self.follow = Follow(self._say)
        self.again = Button("Ask the first questions again", self.ask_again)
        self.begin = Button("Begin the visit", self.begin_visit, LARGE - 2)
        self._sides = [Part(), Part(), Part()]
        self._inner = [QVBoxLayout(side) for side in self._sides]
        self._columns = QHBoxLayout()
        for side in self._sides:
            self._columns.addWidget(side)
        self._columns.setStretch(2, 1)
        contents: tuple[tuple[QWidget, ...], ...] = (
            (self.who, self.today),
            (self.plan, self.begin),
            (self.follow, self.plan.last, self.first, self.again),
        )
        for inner, parts in zip(self._inner, contents, strict=True):
            for part in parts:
                inner.addWidget(part)
            inner.addStretch(1)
        self.column.addLayout(self._columns, 1)
        made = path.exists() and path.stat().st_size > 0
        if made or passphrase or not ask_new:
            self.unlock(passphrase)
        else:
            self.who.show_lock("new")
            self._chosen()

    def fit(self) -> None:
        super().fit()
        px = self.look.px
        for layout in (self._columns, *self._inner):
            layout.setSpacing(px(7))
        for inner in self._inner:
            inner.setContentsMargins(0, 0, 0, 0)
        self._sides[0].setFixedWidth(px(378))
        self._sides[1].setFixedWidth(px(330))
        self.begin.setFixedHeight(px(40))

    def showEvent(self, event: QShowEvent | None) -> None:
        super().showEvent(event)
        if not event or event.spontaneous() or self.who.client is not None:
            return
        if self.who.locked:
            self.who.passphrase.setFocus()
        else:
            (self.who.code if self.who.operator.text else self.who.operator.line).setFocus()

    # ---- the records ----------------------------------------------------------------------------

    def unlock(self, passphrase: str) -> None:
        """Open the records; where the passphrase does not fit, it is asked for again."""
        try:
            self.records = open_records(self._path, passphrase)
            self.passphrase = passphrase
            self.who.passphrase.setText("")
            self.who.show_lock("open")
            self._list()
        except LockedError as error:
            self.who.show_lock("locked")
            self.who.trouble.say(*([str(error)] if passphrase else []))
        except NudgelineError as error:
            self.who.show_lock("open")
            self.who.trouble.say(str(error), "A visit can begin all the same.")
        self._chosen()

    def _list(self) -> None:
        self.who.show_clients(self._asked(clients, ()))

    def _asked(self, query: Callable[..., Any], default: Any, *args: Any) -> Any:
        """Return what the records answer; what they cannot is said, and left out."""
        if self.records is None:
            return default
        try:
            return query(self.records, *args)
        except ConfigError:  # nobody of that code: a new client
            return default
        except NudgelineError as error:
            self.who.trouble.say(str(error), "A visit can begin all the same.")
            return default

    # ---- who came -------------------------------------------------------------------------------

    def show_visit(self, values: Mapping[str, Any]) -> None:
        """Show the visit that runs, where the page is made anew within it."""
        if not values:
            return
        try:
            visit = visit_from(values)
        except NudgelineError:
            return
        self.who.operator.write(visit.operator)
        known = [client for client in self._asked(clients, ()) if client.code == visit.client]
        self.who.client = (
            known[0]
            if known
            else Client(visit.client, visit.identifier, visit.card, visit.child, visit.number)
        )
        self.who.is_new, self.who.confirmed = False, True
        self.who.show_lock("open" if not self.who.locked else "locked")
        self.visit = visit
        self._chosen()

    def _chosen(self) -> None:
        """Load what belongs to the client, once it is sure who that is."""
        client = self.who.card()
        loaded = client is not None and self.who.confirmed
        if client is None or (self.visit is not None and self.visit.client != client.code):
            self.visit = None
        if loaded and client is not None and not self.who.is_new:
            self._load(client)
        elif self.who.is_new and client is not None:
            if client.code != self._asked_of:
                self._clear((), None, ())
            self._kept, self._number = None, 1
            self.first.show_child(client.child)
        self._asked_of = client.code if client is not None and loaded else ""
        for part in (self.plan, self.today, self.begin):
            part.setVisible(loaded)
        self._show_right()
        self._say()

    def _show_right(self) -> None:
        """Show at the right what was, or, before a first session, what is asked."""
        loaded = self.who.client is not None and self.who.confirmed
        asks = loaded and self._kept is None
        self.first.setVisible(asks)
        for part in (self.follow, self.plan.last, self.again):
            part.setVisible(loaded and not asks)
        self.again.setEnabled(not self.follow.missing)

    def _clear(self, done: Sequence[SessionKept], plan: Plan | None, due: Sequence[Effect]) -> None:
        self.plan.show_before(done, plan)
        self.follow.clear(due)
        self.today.clear()
        self.first.clear()

    def _load(self, client: Client) -> None:
        done: tuple[SessionKept, ...] = self._asked(sessions, (), client.code)
        plan: Plan | None = self._asked(last_plan, None, client.code)
        due: tuple[Effect, ...] = self._asked(due_followups, (), client.code)
        self._kept = self._asked(last_consent, None, client.code)
        if self._kept is None and self.visit is not None and self.visit.consent.complete:
            self._kept = Kept(self.visit.consent, self.visit.screening)
        self._number = client.n_sessions + 1
        self._clear(done, plan, () if self.visit is not None else due)
        self.first.show_child(client.child)
        if self.visit is not None:
            self.today.clear(self.visit.today, self.visit.changed)
        asked = self.follow.rows[0].words if self.follow.rows else self.today.lines["effects"]
        asked.line.setFocus()

    def ask_again(self) -> None:
        """Ask again what is asked before the first session; the answers of then are shown."""
        kept, self._kept = self._kept, None
        self.first.clear(kept.screening if kept else None)
        self._show_right()
        self._say()

    # ---- begin ----------------------------------------------------------------------------------

    @property
    def missing(self) -> str:
        """What is still to be done here, in one sentence; empty when the visit can begin."""
        who = self.who
        if who.locked:
            return "Open the records of the clients, by their passphrase where they have one."
        if not who.operator.text:
            return "Sign in: write your name or initials."
        if who.client is None:
            return "Write the client's code, or choose from the list."
        if who.is_new and not who.new_identifier.text:
            return "Write a second identifier, so that two clients are never mixed up."
        if not who.confirmed:
            return "Ask for the second identifier, and confirm that it is this client."
        first = "" if self._kept is not None else self.first.missing
        return self.follow.missing or self.plan.missing or self.today.missing or first

    def begin_visit(self) -> None:
        """Write all of it down, and begin."""
        client, protocol = self.who.card(), self.plan.protocol
        if self.missing or client is None or protocol is None:
            return
        operator = self.who.operator.text
        consent, screening = Consent(), self.first.screening
        if self._kept is not None:
            consent, screening = self._kept.consent, dict(self._kept.screening)
        else:
            consent = self.first.consent(operator, protocol.cautions)
        self._keep(client, Kept(consent, screening))
        before = self.visit
        self.visit = Visit(
            client=client.code,
            number=before.number if before else self._number,
            identifier=client.identifier,
            card=dict(client.card),
            child=client.child,
            operator=operator,
            visit_id=before.visit_id if before else visit_id_for(client.code, self._now()),
            part=before.part + 1 if before else 1,
            site=self.plan.site.text,
            reference=self.plan.reference.text,
            side=self.plan.side.picked,
            ground=self.plan.ground.text,
            today=self.today.answers,
            changed=self.today.changed.text,
            screening=screening,
            consent=consent,
            follow_ups=before.follow_ups if before else self.follow.heard,
        )
        self._kept = Kept(consent, screening)
        if self.who.is_new:
            self.who.client, self.who.is_new = replace(client, n_sessions=1), False
            self._list()
        self._show_right()
        self._say()
        self._begin(self.visit, protocol.slug)

    def _keep(self, client: Client, kept: Kept) -> None:
        """Keep a new client and what was acknowledged; the recording holds both besides."""
        if self.records is None:
            return
        try:
            if self.who.is_new:
                add_client(self.records, client)
            keep_consent(self.records, client.code, kept)
        except NudgelineError as error:
            self.who.trouble.say(str(error))

    def _say(self) -> None:
        if not hasattr(self, "begin"):
            return
        self.again.setEnabled(not self.follow.missing)
        missing = self.missing
        ready = "Press “Begin the visit”; the measuring comes next."
        if self.visit is not None:
            ready = "The visit runs. Another protocol or site begins a part of its own."
        self.next.say(missing or ready)
        self.begin.say("Begin another part" if self.visit is not None else "Begin the visit")
        self.begin.setEnabled(not missing)
