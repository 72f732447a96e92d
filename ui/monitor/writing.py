"""A line to write in. What is typed there works no key of the desk."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtCore import Qt
from PyQt6.QtGui import QKeyEvent
from PyQt6.QtWidgets import QLineEdit

from ui.monitor.keys import action_for
from ui.theme import BODY, Look


class WritingLine(QLineEdit):
    """Calls ``entered`` with its text, trimmed, when Enter is pressed.

    Only the keys that write nothing pass on to the desk: so Esc stops a round from here too.
    """

    def __init__(self, hint: str, entered: Callable[[str], object]):
        super().__init__()
        self._entered = entered
        self.setPlaceholderText(hint)
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.setMaxLength(400)

    def dress(self, look: Look) -> None:
        """Take on a look."""
        palette, px = look.palette, look.px
        self.setFont(look.font(BODY))
        self.setFixedHeight(px(27))
        self.setStyleSheet(
            f"QLineEdit {{ background: {palette.ground}; color: {palette.text};"
            f" border: 1px solid {palette.line}; border-radius: {px(4)}px;"
            f" padding: 0 {px(8)}px; placeholder-text-color: {palette.muted}; }}"
            f" QLineEdit:focus {{ border-color: {palette.focus}; }}"
        )

    def keyPressEvent(self, event: QKeyEvent | None) -> None:
        assert event is not None
        plain = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if enter and plain == Qt.KeyboardModifier.NoModifier:
            self._entered(self.text().strip())
            return
        found = action_for(event)
        if found is not None and found[0].while_typing:
            event.ignore()
            return
        super().keyPressEvent(event)
        event.accept()
