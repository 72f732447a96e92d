"""The page that asks what only the operator can decide."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtCore import Qt
from PyQt6.QtGui import QKeyEvent
from PyQt6.QtWidgets import QHBoxLayout, QListWidget, QSizePolicy

from engine.stream.messages import Question
from ui.monitor.buttons import Press
from ui.monitor.overlay import Prose, Sheet
from ui.monitor.parts import Words
from ui.monitor.writing import WritingLine
from ui.theme import BODY, LARGE, Look, scroll_style

N_SEEN = 9
"""So many answers are seen at once, and have a number."""


class Choices(QListWidget):
    """A list that is chosen from by arrows, by number or by mouse, and answered with Enter."""

    def __init__(self, choices: tuple[str, ...], suggestion: str, confirm: Callable[[], object]):
        super().__init__()
        self._choices, self._confirm = choices, confirm
        for i, choice in enumerate(choices):
            number = f"{i + 1}   " if i < N_SEEN else "     "
            hint = "   (suggested)" if choice == suggestion else ""
            self.addItem(f"{number}{choice}{hint}")
        self.setCurrentRow(choices.index(suggestion) if suggestion in choices else 0)
        self.itemDoubleClicked.connect(lambda _: self._confirm())
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    @property
    def chosen(self) -> str:
        """The chosen answer, empty where there is none to choose."""
        return self._choices[self.currentRow()] if self._choices else ""

    def dress(self, look: Look) -> None:
        """Take on a look."""
        palette, px = look.palette, look.px
        self.setFont(look.font(LARGE - 2))
        self.setStyleSheet(
            f"QListWidget {{ background: {palette.ground}; color: {palette.text};"
            f" border: 1px solid {palette.line}; border-radius: {px(4)}px; outline: 0; }}"
            f" QListWidget::item {{ padding: {px(5)}px {px(10)}px; }}"
            f" QListWidget::item:selected {{ background: {palette.focus};"
            f" color: {palette.on_strong}; }} {scroll_style(look)}"
        )
        self.ensurePolished()
        n_seen = min(max(self.count(), 1), N_SEEN)
        self.setFixedHeight(n_seen * self.sizeHintForRow(0) + 2 * self.frameWidth() + 2)
        if self.count() <= N_SEEN:
            self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)

    def keyPressEvent(self, event: QKeyEvent | None) -> None:
        assert event is not None
        key = event.key()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._confirm()
        elif Qt.Key.Key_1 <= key <= Qt.Key.Key_9:
            self.setCurrentRow(min(key - Qt.Key.Key_1, self.count() - 1))
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            super().keyPressEvent(event)
        else:
            event.ignore()


class QuestionSheet(Sheet):
    """A question, the answers to choose from, and a line for another one.

    ``trouble`` says why the answer before was not accepted.
    """

    def __init__(self, question: Question, answer: Callable[[str], object], trouble: str = ""):
        super().__init__("A question before we go on", 760)
        self.question = question
        self._answer = answer
        self.column.addWidget(Prose(question.text, LARGE - 2))
        if trouble:
            self.column.addWidget(Prose(trouble, BODY, "lost"))
        self.choices = Choices(question.choices, question.suggestion, self.confirm)
        self.choices.setVisible(bool(question.choices))
        self.column.addWidget(self.choices)
        hint = "another answer (Tab leads here)" if question.choices else "write the answer"
        self.line = WritingLine(hint, lambda _: self.confirm())
        self.line.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.column.addWidget(self.line)
        self.button = Press("answer", "Enter", self.confirm, 17)
        foot = QHBoxLayout()
        foot.addWidget(Words("Ctrl+Q closes the session instead.", BODY, "muted"))
        foot.addWidget(self.button)
        self.column.addLayout(foot)

    def take_keys(self) -> None:
        """Let the keys choose, or write where there is nothing to choose."""
        (self.choices if self.question.choices else self.line).setFocus()

    def confirm(self) -> None:
        """Answer with what is written, else with what is chosen."""
        text = self.line.text().strip() or self.choices.chosen
        if text:
            self._answer(text)
