"""The card on which an operator signs in, opens the records, and finds or adds the client."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime

from PyQt6.QtCore import Qt
from PyQt6.QtWidgets import QLineEdit, QWidget

from engine.errors import ConfigError
from engine.records.clients import Client, clean_code
from ui.monitor.pages.form import Button, Card, Field, Said, Tick, row_of
from ui.monitor.parts import Words
from ui.monitor.writing import WritingLine
from ui.theme import BODY, LARGE, SMALL

N_LISTED = 7
LABELS = 96
NEW = (
    "The records are new. Set a passphrase, or leave it empty: then nothing is encrypted. Keep it "
    "safe: without it nobody opens them again."
)
LOCKED = "The records are encrypted. Write their passphrase."


class WhoCard(Card):
    """Knows who works and who came.

    ``unlock`` gets a passphrase. ``chosen`` is called whenever another client, or none, is meant,
    and when the one who is meant was confirmed; ``changed`` when a word was written.
    """

    def __init__(
        self,
        operator: str,
        unlock: Callable[[str], object],
        chosen: Callable[[], object],
        changed: Callable[[], object],
    ):
        super().__init__("Who is here")
        self._unlock, self._chosen, self._changed = unlock, chosen, changed
        self._known: tuple[Client, ...] = ()
        self.client: Client | None = None
        self.is_new = False
        self.confirmed = False
        self.operator = Field("operator", changed, 0, "name or initials", LABELS)
        self.operator.write(operator)
        self.column.addWidget(self.operator)
        self._add_lock()
        self._add_list()
        self._add_identity()
        self._add_new()
        self.trouble = Said(size=BODY - 0.5, ink="lost")
        self.column.addWidget(self.trouble)
        self.trouble.say()
        self.locked = False
        self.show_clients(())

    def _add_lock(self) -> None:
        self.lock_words = Said(size=BODY)
        self.passphrase = WritingLine("passphrase", self._try)
        self.passphrase.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.passphrase.setAccessibleName("passphrase of the records")
        self.open = Button("Open the records", lambda: self._try(self.passphrase.text()))
        for part in (self.lock_words, self.passphrase, self.open):
            self.column.addWidget(part)

    def _add_list(self) -> None:
        self.code_label = Words("client", BODY, "muted", template="")
        self.code = WritingLine("code, such as HERON-07", lambda _: self.enter())
        self.code.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.code.setAccessibleName("client code")
        self.code.textChanged.connect(lambda _: self._look_again())
        self.column.addLayout(row_of(self.code_label, self.code, spacing=6))
        self.listed = [Button("", self._picker(place)) for place in range(N_LISTED)]
        for button in self.listed:
            self.column.addWidget(button)
        self.add = Button("New client", self._begin_new)
        self.column.addWidget(self.add)
        self.more = Words("", SMALL, "muted")
        self.column.addWidget(self.more)

    def _add_identity(self) -> None:
        self.name = Words("", LARGE, bold=True)
        self.ask = Said("Second identifier, to be asked for:", BODY, "muted")
        self.identifier = Words("", LARGE, bold=True)
        self.confirm = Button("It is this client", self._confirm, BODY + 1)
        self.another = Button("Another client", self.forget)
        for part in (self.name, self.ask, self.identifier, self.confirm, self.another):
            self.column.addWidget(part)

    def _add_new(self) -> None:
        self.new_identifier = Field("second identifier", self._changed, 0, "", 0)
        self.new_identifier.line.setPlaceholderText("year of birth, or a word that they choose")
        self.new_name = Field("name", self._changed, 0, "may stay empty", LABELS)
        self.new_remarks = Field("remarks", self._changed, 0, "may stay empty", LABELS)
        self.child = Tick("a guardian consents for them", self._child_changed)
        for part in (self.new_identifier, self.child, self.new_name, self.new_remarks):
            self.column.addWidget(part)

    def fit(self) -> None:
        super().fit()
        self.code_label.setFixedWidth(self.look.px(LABELS))

    # ---- the lock -------------------------------------------------------------------------------

    def show_lock(self, state: str) -> None:
        """Show the records as ``open``, ``locked``, or ``new``: not made yet."""
        shut = state != "open"
        self.lock_words.say(*([NEW if state == "new" else LOCKED] if shut else []))
        mode = QLineEdit.EchoMode.Normal if state == "new" else QLineEdit.EchoMode.Password
        self.passphrase.setEchoMode(mode)
        self.passphrase.setVisible(shut)
        self.open.say("Make the records" if state == "new" else "Open the records")
        self.open.setVisible(shut)
        self.locked = shut
        self._show()
        if shut:
            self.passphrase.setFocus()

    def _try(self, passphrase: str) -> None:
        self.trouble.say()
        self._unlock(passphrase)

    # ---- who came -------------------------------------------------------------------------------

    def show_clients(self, known: Sequence[Client]) -> None:
        """List who is known, whoever came last first."""
        self._known = tuple(known)
        self._look_again()

    @property
    def fitting(self) -> tuple[Client, ...]:
        """Those whose code holds what is written."""
        written = self.code.text().strip().upper()
        found = [client for client in self._known if written in client.code]
        found.sort(key=lambda client: client.code != written)
        return tuple(found)

    def enter(self) -> None:
        """Take the client that is written: the one who fits, or a new one."""
        fitting = self.fitting
        written = self.code.text().strip().upper()
        if fitting and (len(fitting) == 1 or fitting[0].code == written):
            self.pick(fitting[0])
        elif written and not fitting:
            self._begin_new()

    def _picker(self, place: int) -> Callable[[], object]:
        return lambda: self.pick(self.fitting[place])

    def pick(self, client: Client) -> None:
        """Mean a client who is known; the second identifier is asked for."""
        self.client, self.is_new, self.confirmed = client, False, False
        self._show()
        self.confirm.setFocus()
        self._chosen()

    def _confirm(self) -> None:
        self.confirmed = True
        self._show()
        self._chosen()

    def _begin_new(self) -> None:
        try:
            code = clean_code(self.code.text())
        except ConfigError as error:
            self.trouble.say(str(error))
            return
        self.trouble.say()
        self.client, self.is_new, self.confirmed = Client(code), True, True
        self._show()
        self.new_identifier.line.setFocus()
        self._chosen()

    def forget(self) -> None:
        """Mean nobody."""
        self.client, self.is_new, self.confirmed = None, False, False
        for field in (self.new_identifier, self.new_name, self.new_remarks):
            field.write("")
        self.child.setChecked(False)
        self.code.setText("")
        self._look_again()
        self.code.setFocus()
        self._chosen()

    def card(self) -> Client | None:
        """Return the client who is meant, a new one with what is written of them."""
        if self.client is None or not self.is_new:
            return self.client
        written = {"name": self.new_name.text, "remarks": self.new_remarks.text}
        card = {name: text for name, text in written.items() if text}
        return Client(self.client.code, self.new_identifier.text, card, self.child.isChecked())

    def _child_changed(self) -> None:
        self._chosen()

    # ---- what is shown --------------------------------------------------------------------------

    def _look_again(self) -> None:
        for place, button in enumerate(self.listed):
            found = self.fitting[place] if place < len(self.fitting) else None
            if found is not None:
                button.say(listed_words(found))
        self._show()

    def _show(self) -> None:
        choosing = not self.locked and self.client is None
        known = self.client is not None and not self.is_new
        fitting = self.fitting
        _show(choosing, self.code_label, self.code, self.more)
        for place, button in enumerate(self.listed):
            button.setVisible(choosing and place < len(fitting))
        more = len(fitting) - N_LISTED
        self.more.say(f"and {more} more: write more of the code" if more > 0 else "")
        written = self.code.text().strip().upper()
        there = any(client.code == written for client in self._known)
        self.add.setVisible(choosing and bool(written) and not there)
        self.add.say(f"New client {written}")
        self.name.say(self.client.code if self.client else "")
        self.identifier.say((self.client.identifier if self.client else "") or "none is kept")
        _show(self.client is not None, self.name, self.another)
        _show(known, self.ask, self.identifier)
        self.confirm.setVisible(known and not self.confirmed)
        _show(self.is_new, self.new_identifier, self.child, self.new_name, self.new_remarks)


def _show(on: bool, *parts: QWidget) -> None:
    for part in parts:
        part.setVisible(on)


def listed_words(client: Client) -> str:
    """Write a client in one line."""
    code = client.code if len(client.code) <= 16 else f"{client.code[:15]}…"
    if not client.last_utc:
        return f"{code}   no session yet"
    n = client.n_sessions
    day = datetime.fromisoformat(client.last_utc).astimezone()
    return f"{code}   {n} session{'' if n == 1 else 's'}, last {day:%d %b %Y}"
