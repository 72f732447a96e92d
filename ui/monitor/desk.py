"""The clinician's window: keys in, pages out."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtCore import Qt
from PyQt6.QtGui import QCloseEvent, QKeyEvent, QResizeEvent
from PyQt6.QtWidgets import QWidget

from engine.session.asks import (
    Ask,
    AskAnswer,
    AskBegin,
    AskClose,
    AskMark,
    AskQuit,
    AskRound,
)
from engine.session.messages import Goodbye, Hello, Reception, Remark
from engine.session.shelf import Shelved
from engine.stream.messages import Question
from ui.monitor.cut_off_sheet import CutOffSheet
from ui.monitor.foot import Foot
from ui.monitor.keys import action_for
from ui.monitor.link import Gone, Incoming
from ui.monitor.memory import Memory
from ui.monitor.overlay import HelpSheet, QuitSheet, Sheet
from ui.monitor.page import DeskPage
from ui.monitor.parts import Part
from ui.monitor.question import QuestionSheet
from ui.monitor.response import ResponseSheet
from ui.monitor.start_page import StartPage
from ui.monitor.steps import BAR_HEIGHT, NAMES, StepBar
from ui.monitor.visit_pages import VisitPages
from ui.theme import BASE_HEIGHT, BASE_WIDTH, DARK, LIGHT, Look, scale_for

STATE_EVERY = 10
"""Frames of 1/30 s between two looks at the line beside the steps."""


class DeskWindow(QWidget):
    """The desk. `receive` takes what the host says; ``send`` is called with every ask."""

    def __init__(self, send: Callable[[Ask], object]):
        super().__init__()
        self._send = send
        self._palette = DARK
        self._memory: Memory | None = None
        self._questions: list[Question] = []
        self._answered = self._said = ""
        self._asked_to_quit = False
        self._n_frames = 0
        self._reception: Reception | None = None
        self.over = False
        self.start_page = StartPage()
        self.start_page.setParent(self)
        self.page: DeskPage | None = None
        self.step = "train"
        self.bar = StepBar(self.go)
        self.bar.setParent(self)
        self.foot = Foot()
        self.visit = VisitPages(self._send, self.go, self.tell)
        self.foot.setParent(self)
        self.bar.show_step(self.step)
        self.sheet: Sheet | None = None
        self.setWindowTitle("Nudgeline")
        self.setMinimumSize(820, 460)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.resize(BASE_WIDTH, BASE_HEIGHT)

    # ---- look ---------------------------------------------------------------------------------

    @property
    def look(self) -> Look:
        """The palette, at the scale of the window's size."""
        return Look(self._palette, scale_for(self.width(), self.height()))

    @property
    def inner_look(self) -> Look:
        """The palette, at the scale at which a page fits below the row of steps."""
        return Look(self._palette, scale_for(self.width(), self.height() - self.bar.height()))

    @property
    def shown(self) -> Part:
        """The page that is on screen."""
        if self.step == "train":
            return self.page or self.start_page
        return self.visit.page(self.step) or self.start_page

    def dress(self) -> None:
        """Give everything on screen the look of the moment; a page is dressed when it is shown."""
        look = self.look
        self.bar.dress(look)
        self.bar.setGeometry(0, 0, self.width(), look.px(BAR_HEIGHT))
        self._show_shown()
        if self.sheet is not None:
            self.sheet.dress(look)
            self.sheet.setGeometry(self.rect())

    def _show_shown(self) -> None:
        """Put the step's page below the row, and everything else away."""
        shown, top = self.shown, self.bar.height()
        own_foot = shown in (self.page, self.start_page)
        for part in (self.start_page, self.page, *self.visit.parts):
            if part is not None and part is not shown:
                part.hide()
        bottom = self.height()
        self.foot.setVisible(not own_foot)
        if not own_foot:
            self.foot.dress(self.look)
            bottom -= self.foot.height()
            self.foot.setGeometry(0, bottom, self.width(), self.foot.height())
        if shown.parent() is not self:
            shown.setParent(self)
        shown.dress(self.inner_look)
        shown.setGeometry(0, top, self.width(), bottom - top)
        shown.show()
        if shown is self.page:
            self.page.show_all()
        if self.sheet is not None:
            self.sheet.raise_()

    def go(self, step: str) -> None:
        """Go to a step's page; what was begun on the one before goes on."""
        self.step = step
        self.bar.show_step(step)
        self._show_shown()
        self.setFocus()
        self.visit.arrived(step)
        self._show_state()

    def _show_state(self) -> None:
        status = self._memory.status if self._memory else None
        self.bar.show_status(status, self.step)

    def resizeEvent(self, event: QResizeEvent | None) -> None:
        self.dress()

    # ---- from the host ------------------------------------------------------------------------

    def receive(self, message: Incoming) -> None:
        """Take up one message."""
        self.visit.receive(message)
        if isinstance(message, Reception):
            self._received(message)
        elif isinstance(message, Hello):
            self._welcome(message)
        elif isinstance(message, Question):
            self._questions = [q for q in self._questions if q.key != message.key]
            self._questions.append(message)
            if not isinstance(self.sheet, QuestionSheet):
                self._next_question()
        elif isinstance(message, Remark):
            self._said = message.text
            self.tell(message)
        elif isinstance(message, Goodbye | Gone):
            self.over = True
            self.close()
        elif self._memory is not None:
            self._memory.take(message)

    def _welcome(self, hello: Hello) -> None:
        if self._memory is not None and self._memory.fits(hello):
            return
        old = self.page
        self._memory = Memory(hello)
        self.page = DeskPage(self._memory, self._send, self.do)
        self.setWindowTitle(f"{hello.title} – Nudgeline" if hello.title else "Nudgeline")
        if old is not None:
            self.page.footer.note.setText(old.footer.note.text())
            old.hide()
            old.deleteLater()
        self.dress()

    def tell(self, remark: Remark) -> None:
        """Show one sentence, whichever page is on screen."""
        self.foot.tell(remark)
        (self.page or self.start_page).tell(remark)

    def _received(self, reception: Reception) -> None:
        """Begin where there is somebody to receive, and go on when the visit has begun."""
        first = self._reception is None
        self._reception = reception
        if first and reception.waiting:
            self.go("client")
        self.dress()
        if first and reception.cut_off and self.sheet is None:
            cut = reception.cut_off[-1]
            self._open(
                CutOffSheet(
                    cut, lambda: self._go_on(cut), lambda: self._shut(cut), self.close_sheet
                )
            )

    def _go_on(self, cut: Shelved) -> None:
        """Go on with a session that was cut off."""
        self._send(AskBegin("", visit=cut.visit, go_on_from=str(cut.path)))
        self.close_sheet()
        self.go("train")

    def _shut(self, cut: Shelved) -> None:
        self._send(AskClose(str(cut.path)))
        self.close_sheet()

    @property
    def n_painted(self) -> int:
        """How often the raw trace was really painted since the page opened."""
        return self.page.trace.n_painted if self.page is not None else 0

    def frame(self) -> None:
        """Draw one frame."""
        if self.shown is self.page is not None:
            self.page.show_frame()
        self.visit.frame(self.step, self._memory)
        self._n_frames += 1
        if self._n_frames % STATE_EVERY == 0:
            self._show_state()

    # ---- sheets -------------------------------------------------------------------------------

    def _open(self, sheet: Sheet) -> None:
        self._drop_sheet()
        self.sheet = sheet
        sheet.setParent(self)
        sheet.dress(self.look)
        sheet.setGeometry(self.rect())
        sheet.show()
        sheet.raise_()
        self.setFocus()

    def _drop_sheet(self) -> None:
        if self.sheet is not None:
            self.sheet.hide()
            self.sheet.deleteLater()
            self.sheet = None
            self.setFocus()

    def close_sheet(self) -> None:
        """Go back to the desk; a question that waits comes next."""
        self._drop_sheet()
        self._next_question()

    def _toggle(self, kind: type[Sheet], make: Callable[[], Sheet]) -> None:
        if isinstance(self.sheet, kind):
            self.close_sheet()
        elif not isinstance(self.sheet, QuitSheet):
            self._open(make())

    def _next_question(self) -> None:
        if self._questions and not self._asked_to_quit:
            question = self._questions[0]
            again = question.key == self._answered
            sheet = QuestionSheet(question, self._answer, self._said if again else "")
            self._open(sheet)
            sheet.take_keys()

    def _answer(self, value: str) -> None:
        question = self._questions.pop(0)
        self._answered, self._said = question.key, ""
        self._send(AskAnswer(question.key, value))
        self.close_sheet()

    # ---- from the operator --------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent | None) -> None:
        assert event is not None
        if isinstance(self.sheet, QuitSheet | CutOffSheet) and self.sheet.pressed(event.key()):
            return
        found = action_for(event)
        if found is None:
            super().keyPressEvent(event)
            return
        action, row = found
        here = self.step == "train" or action.anywhere or action.while_typing
        if here and (self.sheet is None or action.while_typing):
            self.do(action.name, row)

    def do(self, name: str, row: int = 0) -> None:
        """Do what a key or a button stands for."""
        hello = self._memory.hello if self._memory else None
        match name:
            case "stop":
                self._stop()
            case "start" | "rest":
                if self.page is not None and self.sheet is None:
                    self._send(AskRound(name))
            case "step":
                self.close_sheet()
                self.go(NAMES[row])
            case "adverse" | "drowsy":
                self._send(AskMark(name))
                if name == "adverse":
                    self.close_sheet()
                    self.go("care")
                    self.visit.mark_adverse()
            case "help":
                protocol = hello.protocol if hello else None
                self._toggle(HelpSheet, lambda: HelpSheet(protocol, self.close_sheet))
            case "response":
                if hello is not None:
                    self._toggle(ResponseSheet, lambda: ResponseSheet(hello, self.close_sheet))
            case "theme":
                self._palette = LIGHT if self._palette is DARK else DARK
                self.dress()
            case "desk_full":
                self.showNormal() if self.isFullScreen() else self.showFullScreen()
            case "quit":
                self._toggle(QuitSheet, self._quit_sheet)
            case _:
                if self.page is not None:
                    if name in ("note", "map", "pause"):
                        self.go("train")
                    self.page.do(name, row)

    def _stop(self) -> None:
        """Stop a round whatever else is on screen; then tidy what lies over the desk."""
        status = self._memory.status if self._memory else None
        if self.page is not None and (status is None or status.phase in ("training", "rest")):
            self._send(AskRound("stop"))
        self.setFocus()
        asking = self._asked_to_quit or isinstance(self.sheet, QuestionSheet)
        if self.sheet is not None and not asking:
            self.close_sheet()

    def _quit_sheet(self) -> QuitSheet:
        return QuitSheet(self._quit, lambda: self._quit(next_client=True), self.close_sheet)

    def _quit(self, next_client: bool = False) -> None:
        if not self._asked_to_quit:
            self._asked_to_quit = True
            self._send(AskQuit(next_client))
            if isinstance(self.sheet, QuitSheet):
                self.sheet.closing()

    def closeEvent(self, event: QCloseEvent | None) -> None:
        assert event is not None
        if self.over:
            event.accept()
            return
        event.ignore()
        if not isinstance(self.sheet, QuitSheet):
            self._open(self._quit_sheet())
