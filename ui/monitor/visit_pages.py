"""The pages of a visit beside the training: made when they are first gone to, told what is said."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from engine.events import Entry
from engine.lookback.course import Course
from engine.lookback.progress_note import progress_note
from engine.lookback.review import Review, review
from engine.practice.visit import Visit
from engine.protocol import Protocol
from engine.reward.baseline import Start
from engine.session.asks import (
    Ask,
    AskBegin,
    AskContact,
    AskEntry,
    AskLimit,
    AskLookBack,
    AskNudge,
    AskStart,
    AskStretch,
)
from engine.session.messages import Hello, Reception, Remark, Status
from engine.session.stretches import StretchResult
from ui.monitor.kept import Kept
from ui.monitor.link import Incoming
from ui.monitor.memory import Memory
from ui.monitor.pages.baseline_page import BaselinePage
from ui.monitor.pages.care_page import CarePage
from ui.monitor.pages.check_page import CheckPage
from ui.monitor.pages.client_page import ClientPage
from ui.monitor.pages.contact_page import ContactPage
from ui.monitor.pages.look_back_page import LookBackPage
from ui.monitor.pages.measure_page import MeasurePage
from ui.monitor.parts import Part
from ui.monitor.report_job import ReportJob

PROTOCOLS_OWN = ("measure", "contact", "check", "baseline", "look_back")
"""Pages that speak of one protocol and site, and are made anew for another."""

CLIENTS_OWN = ("measure", "baseline", "care")
"""Pages that hold what was kept of a client, and are made anew for another."""


class VisitPages:
    """Knows every page of `ui.monitor.steps` but the training's."""

    def __init__(
        self,
        send: Callable[[Ask], object],
        go: Callable[[str], object],
        say: Callable[[Remark], object],
    ):
        self._send, self._go, self._say = send, go, say
        self._reception = Reception()
        self._kept = self._kept_at(self._reception)
        self._hello: Hello | None = None
        self._last_status: Status | None = None
        self._at = ""
        self._entries: list[Entry] = []
        self._seen: Review | None = None
        self._reports = ReportJob(say)
        self._pages: dict[str, Part] = {}
        self._makers: dict[str, Callable[[], Part | None]] = {
            "client": self._receive,
            "measure": self._measure,
            "contact": self._contact,
            "check": self._check,
            "baseline": self._baseline,
            "look_back": self._look_back,
            "care": self._care,
        }

    @property
    def parts(self) -> tuple[Part, ...]:
        """The pages that were made."""
        return tuple(self._pages.values())

    def page(self, step: str) -> Part | None:
        """Return the page of a step; None while it has nothing to stand on."""
        if step not in self._pages and step in self._makers:
            made = self._makers[step]()
            if made is not None:
                self._pages[step] = made
        return self._pages.get(step)

    def _kept_at(self, reception: Reception) -> Kept:
        return Kept(
            reception.records,
            reception.passphrase,
            lambda text: self._say(Remark(text, grave=True)),
        )

    @property
    def _client(self) -> str:
        return str(self._reception.visit.get("client", ""))

    # ---- the pages ------------------------------------------------------------------------------

    @property
    def _protocol(self) -> Protocol | None:
        """What is trained; before that is known, the first that could be."""
        if self._hello is not None:
            return self._hello.protocol
        return next(iter(self._reception.protocols), None)

    def _receive(self) -> Part | None:
        reception = self._reception
        if not reception.records:
            return None
        page = ClientPage(
            Path(reception.records),
            reception.protocols,
            self._begin,
            passphrase=reception.passphrase,
            ask_new=not reception.demo,
        )
        page.show_visit(reception.visit)
        return page

    def _measure(self) -> Part | None:
        protocol = self._protocol
        if protocol is None:
            return None
        return MeasurePage(
            protocol.site,
            protocol.reference,
            protocol.ground,
            self._keep_head,
            self._kept.head(self._client),
        )

    def _contact(self) -> Part | None:
        if self._hello is None:
            return None
        page = ContactPage(self._hello, self._write)
        for entry in self._written("contact")[-1:]:
            page.show_kept(entry.values)
        return page

    def _check(self) -> Part | None:
        if self._hello is None:
            return None
        page = CheckPage(
            self._hello,
            lambda what, seconds: self._send(AskStretch(what, seconds)),
            lambda: self._send(AskStretch("")),
            self._use_limits,
            lambda now: self._write("check", {"limits": "kept", **dict(now)}),
        )
        if self._last_status is not None:
            page.show_status(self._last_status)
        return page

    def _baseline(self) -> Part | None:
        if self._hello is None:
            return None
        page = BaselinePage(
            self._hello.protocol,
            lambda what, seconds: self._send(AskStretch(what, seconds)),
            lambda: self._send(AskStretch("")),
            self._use_thresholds,
            lambda target, shares: self._send(AskStart(target, shares)),
        )
        for result in self._results():
            page.show_result(result)
        protocol = self._hello.protocol
        last = self._kept.last_time(self._client, protocol.slug, protocol.site)
        if last is not None:
            page.show_last(last)
        return page

    def _look_back(self) -> Part | None:
        if self._hello is None:
            return None
        recording, passphrase = self._hello.recording, self._reception.passphrase
        page = LookBackPage(
            self._write,
            lambda: self._send(AskLookBack()),
            lambda: self._reports.start(recording, passphrase),
        )
        if self._seen is not None:
            page.show_review(self._seen)
        for entry in self._written("rating")[-1:]:
            page.show_rating(entry.values)
        return page

    def _care(self) -> Part | None:
        page = CarePage(self._write, self._kept.sensors())
        self._show_entries(page)
        self._show_note(page)
        return page

    # ---- what they do ---------------------------------------------------------------------------

    def _begin(self, visit: Visit, protocol: str) -> None:
        """Begin a visit, or a part of it at another protocol or site; the measuring comes next."""
        page = self._pages["client"]
        assert isinstance(page, ClientPage)
        own = [known.site for known in self._reception.protocols if known.slug == protocol]
        site = "" if visit.site in own else visit.site
        self._send(AskBegin(protocol, site, visit.values(), page.passphrase))
        self._go("measure")

    def _keep_head(self, head: dict[str, Any]) -> None:
        self._kept.keep_head(self._client, head)
        self._write("head", head)

    def _write(self, topic: str, values: dict[str, Any]) -> None:
        self._send(AskEntry(topic, values))

    def _use_thresholds(self, pairs: list[tuple[str, float]]) -> None:
        for key, value in pairs:
            self._send(AskNudge(key, "baseline", value=value))

    def _use_limits(self, pairs: tuple[tuple[str, float], ...]) -> None:
        for key, value in pairs:
            self._send(AskLimit(key, value))

    # ---- what is said ---------------------------------------------------------------------------

    def receive(self, message: Incoming) -> None:
        """Take up what the host says."""
        if isinstance(message, Reception):
            self._received(message)
        elif isinstance(message, Hello):
            self._welcome(message)
        elif isinstance(message, Status):
            self._status(message)
        elif isinstance(message, Start):
            page = self._pages.get("baseline")
            if isinstance(page, BaselinePage):
                page.show_start(message)
        elif isinstance(message, Entry):
            self._entries.append(message)
            self._show_written(message.topic)
        elif isinstance(message, Course):
            self._looked_back(message)

    def _received(self, reception: Reception) -> None:
        """Take up who the client is: what was kept of another one goes."""
        old, self._reception = self._reception, reception
        if (old.records, old.passphrase) != (reception.records, reception.passphrase):
            self._kept = self._kept_at(reception)
        if old.visit.get("client") != reception.visit.get("client"):
            for step in CLIENTS_OWN:
                self._drop(step)

    def _welcome(self, hello: Hello) -> None:
        old, self._hello = self._hello, hello
        if old is None or old.protocol != hello.protocol:
            self._entries, self._seen, self._last_status = [], None, None
            for step in PROTOCOLS_OWN:
                self._drop(step)

    def _written(self, topic: str) -> list[Entry]:
        return [entry for entry in self._entries if entry.topic == topic]

    def _show_written(self, topic: str) -> None:
        """Show what was written down; the note at the care page is made anew from it."""
        care, back = self._pages.get("care"), self._pages.get("look_back")
        if isinstance(care, CarePage):
            self._show_entries(care)
            self._send(AskLookBack())
        if isinstance(back, LookBackPage) and topic == "rating":
            back.show_rating(self._written("rating")[-1].values)

    def _looked_back(self, course: Course) -> None:
        self._seen = review(course)
        care, back = self._pages.get("care"), self._pages.get("look_back")
        if isinstance(back, LookBackPage):
            back.show_review(self._seen)
        if isinstance(care, CarePage):
            self._show_note(care)

    def _show_note(self, page: CarePage) -> None:
        if self._seen is not None:
            page.show_note(progress_note(self._seen))

    def _show_entries(self, page: CarePage) -> None:
        page.show_drowsy([entry.onset_s for entry in self._written("drowsy")])
        page.show_adverse([entry.values for entry in self._written("adverse")])
        for entry in self._written("rating")[-1:]:
            page.show_rating(entry.values)

    def mark_adverse(self) -> None:
        """Lead to the log of adverse effects: one was marked just now."""
        page = self.page("care")
        if isinstance(page, CarePage):
            page.begin_adverse()

    def _drop(self, step: str) -> None:
        page = self._pages.pop(step, None)
        if page is not None:
            page.hide()
            page.deleteLater()

    def _results(self) -> tuple[StretchResult, ...]:
        """What stretches have come to so far."""
        return self._last_status.results if self._last_status is not None else ()

    def _status(self, status: Status) -> None:
        shown = self._results()
        self._last_status = status
        for followed in (self._pages.get("contact"), self._pages.get("check")):
            if isinstance(followed, ContactPage | CheckPage):
                followed.show_status(status)
        page = self._pages.get("baseline")
        if isinstance(page, BaselinePage):
            page.show_status(status.stretch)
            for result in status.results:
                if result not in shown:
                    page.show_result(result)

    def arrived(self, step: str) -> None:
        """A page was gone to: what it tells of the session is asked for."""
        if "contact" in (step, self._at) and step != self._at:
            self._send(AskContact(step == "contact"))
        self._at = step
        if step in ("look_back", "care") and self._hello is not None:
            self._send(AskLookBack())

    def frame(self, step: str, memory: Memory | None) -> None:
        """Draw what is due on the page that is on screen."""
        page = self._pages.get(step)
        if memory is not None and isinstance(page, ContactPage | CheckPage):
            page.show_now(memory)
