"""Pages that lie over the desk for a moment: the keys, and closing.

They are parts of the window, not windows of their own: the keys keep working, and so does the
one that stops the round.
"""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtCore import QRectF, Qt
from PyQt6.QtGui import QMouseEvent, QPainter, QPaintEvent
from PyQt6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from engine.protocol import Protocol
from ui.monitor.buttons import Press
from ui.monitor.keys import ACTIONS
from ui.monitor.parts import Cap, Part, Words
from ui.theme import BODY, Look


class Prose(QLabel):
    """Text that may run over several lines."""

    def __init__(self, text: str, size: float = BODY, ink: str = "text"):
        super().__init__(text)
        self._size, self._ink = size, ink
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)

    def dress(self, look: Look) -> None:
        """Take on a look."""
        self.setFont(look.font(self._size))
        self.setStyleSheet(f"color: {look.colour(self._ink).name()}; background: transparent;")


class Sheet(Part):
    """A card in the middle of the window; the desk shows dimly around it."""

    def __init__(self, title: str, width: float, parent: QWidget | None = None):
        super().__init__()
        if parent is not None:
            self.setParent(parent)
        self._width = width
        self.title = Words(title, 24, bold=True)
        self.card = Part()
        self.column = QVBoxLayout(self.card)
        self.column.addWidget(self.title)
        outer = QVBoxLayout(self)
        outer.addStretch(1)
        outer.addWidget(self.card, 0, Qt.AlignmentFlag.AlignHCenter)
        outer.addStretch(1)

    def fit(self) -> None:
        px = self.look.px
        self.column.setContentsMargins(px(28), px(22), px(28), px(22))
        self.column.setSpacing(px(12))
        self.card.setFixedWidth(px(self._width))
        for prose in self.card.findChildren(Prose):
            prose.setFixedHeight(prose.heightForWidth(px(self._width) - 2 * px(28)))

    def mousePressEvent(self, event: QMouseEvent | None) -> None:
        """Keep clicks from the desk below."""

    def paintEvent(self, event: QPaintEvent | None) -> None:
        painter = QPainter(self)
        veil = self.look.colour("ground")
        veil.setAlpha(215)
        painter.fillRect(self.rect(), veil)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(self.look.colour("line"))
        painter.setBrush(self.look.colour("panel"))
        box = QRectF(self.card.geometry()).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.drawRoundedRect(box, self.look.px(8), self.look.px(8))


class HelpSheet(Sheet):
    """Every key, by group, and the cautions of the protocol."""

    def __init__(self, protocol: Protocol | None, close: Callable[[], object]):
        super().__init__("Keys", 1120)
        self._columns = QHBoxLayout()
        self._grids: list[QGridLayout] = []
        for groups in (("Round", "Settings"), ("Visit", "Desk"), ("Client",)):
            column = QVBoxLayout()
            column.setSpacing(4)
            for group in groups:
                column.addWidget(Words(group.lower(), BODY, "muted"))
                column.addLayout(self._grid(group))
            column.addStretch(1)
            self._columns.addLayout(column, 1)
        self.column.addLayout(self._columns)
        drag = "A threshold line can be dragged in its lane; it is set when you let go."
        beside = (
            "Beside − and + stands what one step would make of the rate, in points a minute of "
            "clear time, with its 80 % interval; a box means that it is in the zone."
        )
        for words in (drag, beside):
            self.column.addWidget(Prose(words))
        if protocol is not None and protocol.cautions:
            self.column.addWidget(Words(f"cautions: {protocol.name}", BODY, "muted"))
            for caution in protocol.cautions:
                self.column.addWidget(Prose(f"• {caution}"))
        self.column.addWidget(
            Press("back to the desk", "F1", close), 0, Qt.AlignmentFlag.AlignRight
        )

    def _grid(self, group: str) -> QGridLayout:
        grid = QGridLayout()
        for row, action in enumerate(a for a in ACTIONS if a.group == group):
            grid.addWidget(Cap(action.cap), row, 0, Qt.AlignmentFlag.AlignRight)
            grid.addWidget(Words(action.words, BODY), row, 1)
        grid.setColumnStretch(1, 1)
        self._grids.append(grid)
        return grid

    def fit(self) -> None:
        super().fit()
        self._columns.setSpacing(self.look.px(28))
        for grid in self._grids:
            grid.setHorizontalSpacing(self.look.px(10))
            grid.setVerticalSpacing(self.look.px(3))
            grid.setColumnMinimumWidth(0, self.look.px(52))


class QuitSheet(Sheet):
    """Asks before the session is closed, and tells that it is being closed."""

    def __init__(
        self,
        close: Callable[[], object],
        next_client: Callable[[], object],
        stay: Callable[[], object],
    ):
        super().__init__("Close the session?", 640)
        self.text = Prose(
            "The round ends, the recording is closed and kept with the client, and both windows "
            "close. For the next client they open again."
        )
        self.column.addWidget(self.text)
        self.yes = Press("close the session", "Enter", close, 17)
        self.next_client = Press("next client", "N", next_client, 17)
        self.no = Press("stay", "Ctrl+Q", stay, 17)
        self._buttons = QHBoxLayout()
        self._buttons.addStretch(1)
        for button in (self.no, self.next_client, self.yes):
            self._buttons.addWidget(button)
        self.column.addLayout(self._buttons)

    def pressed(self, key: int) -> bool:
        """Answer by key; False if it is none of this sheet's."""
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.yes.click()
        elif key == Qt.Key.Key_N:
            self.next_client.click()
        else:
            return False
        return True

    def closing(self) -> None:
        """Tell that the host was asked; nothing is left to press."""
        self.title.say("Closing")
        self.text.setText("The recording is being closed. The window follows when it is safe.")
        self.dress(self.look)
        for button in (self.no, self.next_client, self.yes):
            button.hide()
