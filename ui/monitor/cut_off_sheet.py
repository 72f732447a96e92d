"""Says that a session was cut off, what of it is there, and offers to go on with it."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtCore import Qt
from PyQt6.QtWidgets import QHBoxLayout

from engine.session.shelf import Shelved
from ui.monitor.buttons import Press
from ui.monitor.overlay import Prose, Sheet
from ui.monitor.wording import clock

SIZE = 17.0


def saved_words(cut: Shelved) -> str:
    """Say what of a session that was cut off is there."""
    whose = f"The session of {cut.client}" if cut.client else "A session without a client's code"
    points = f"{cut.n_points} point{'' if cut.n_points == 1 else 's'}"
    at = f" at {cut.last_utc.astimezone():%H:%M on %d %B %Y}" if cut.last_utc else ""
    return (
        f"{whose}, {cut.protocol}, was cut off{at}. Saved and whole: {clock(cut.seconds)} of "
        f"signal with {points}."
    )


class CutOffSheet(Sheet):
    """Three answers: go on, close it, decide later."""

    def __init__(
        self,
        cut: Shelved,
        go_on: Callable[[], object],
        shut: Callable[[], object],
        later: Callable[[], object],
    ):
        super().__init__("A session was cut off", 760)
        self.text = Prose(saved_words(cut))
        self.column.addWidget(self.text)
        self.column.addWidget(
            Prose(
                "Going on begins a new recording for the same visit, at the settings that held "
                "at the end. Closing leaves the recording as it is, and says in it that the "
                "session was cut off."
            )
        )
        self.go_on = Press("go on with it", "Enter", go_on, SIZE)
        self.shut = Press("close it", "Del", shut, SIZE)
        self.later = Press("later", "Esc", later, SIZE)
        self._buttons = QHBoxLayout()
        self._buttons.addStretch(1)
        for button in (self.later, self.shut, self.go_on):
            self._buttons.addWidget(button)
        self.column.addLayout(self._buttons)

    def pressed(self, key: int) -> bool:
        """Answer by key; False if it is none of this sheet's."""
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.go_on.click()
        elif key == Qt.Key.Key_Delete:
            self.shut.click()
        else:
            return False
        return True
