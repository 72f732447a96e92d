"""What the pages of a visit are set from: a page, cards, and things to press, tick and write in.

Unlike the buttons of training these take the keyboard: Tab leads from one to the next, and a
frame shows where the keys are.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PyQt6.QtCore import QPointF, QRect, QRectF, QSize, Qt
from PyQt6.QtGui import QFontMetrics, QKeyEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PyQt6.QtWidgets import QAbstractButton, QHBoxLayout, QPlainTextEdit, QSizePolicy, QVBoxLayout

from ui.monitor.buttons import Press
from ui.monitor.keys import action_for
from ui.monitor.overlay import Prose
from ui.monitor.parts import Part, Words
from ui.monitor.writing import WritingLine
from ui.theme import BODY, DARK, LARGE, Look, scroll_style

ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)
WRAPPED = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop) | int(
    Qt.TextFlag.TextWordWrap
)


class Page(Part):
    """A page of a visit: ``next`` says at its top what to do next."""

    def __init__(self, to_do: str):
        super().__init__()
        self.next = Words(to_do, LARGE - 2, bold=True)
        self.column = QVBoxLayout(self)
        self.column.addWidget(self.next)

    def fit(self) -> None:
        px = self.look.px
        self.column.setContentsMargins(px(10), px(7), px(10), px(7))
        self.column.setSpacing(px(7))

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("ground"))


class Card(Part):
    """A panel with a title; ``column`` takes what stands in it."""

    def __init__(self, title: str):
        super().__init__()
        self.title = Words(title, BODY + 1, bold=True)
        self.column = QVBoxLayout(self)
        self.column.addWidget(self.title)

    def fit(self) -> None:
        px = self.look.px
        self.column.setContentsMargins(px(12), px(7), px(12), px(8))
        self.column.setSpacing(px(5))

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("panel"))


def row_of(*parts: Part | QAbstractButton | WritingLine, spacing: int = 8) -> QHBoxLayout:
    """Return a row of parts; what can grow does."""
    row = QHBoxLayout()
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(spacing)
    for part in parts:
        row.addWidget(part)
    return row


def frame_focus(painter: QPainter, look: Look, box: QRectF) -> None:
    """Draw the frame that says where the keys are."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(look.colour("focus"), 2))
    painter.drawRoundedRect(box.adjusted(1, 1, -1, -1), look.px(5), look.px(5))


class Button(Press):
    """A button that Tab leads to; Enter and the space bar press it."""

    def __init__(self, text: str, press: Callable[[], object], size: float = BODY):
        super().__init__(text, "", press, size)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)

    def keyPressEvent(self, event: QKeyEvent | None) -> None:
        assert event is not None
        if event.key() in ENTER:
            self.click()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent | None) -> None:
        super().paintEvent(event)
        if self.hasFocus():
            painter = QPainter(self)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            frame_focus(painter, self.look, QRectF(self.rect()))


class Tick(QAbstractButton):
    """A box to tick, with words that may run over several lines."""

    def __init__(self, text: str, changed: Callable[[], object] = lambda: None, on: bool = False):
        super().__init__()
        self.look = Look(DARK, 1.0)
        self.setText(text)
        self.setCheckable(True)
        self.setChecked(on)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.toggled.connect(lambda _: changed())

    def dress(self, look: Look) -> None:
        """Take on a look."""
        self.look = look
        self.updateGeometry()
        self.update()

    @property
    def _indent(self) -> int:
        return self.look.px(27)

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        metrics = QFontMetrics(self.look.font(BODY))
        box = metrics.boundingRect(
            QRect(0, 0, max(20, width - self._indent), 9999), WRAPPED, self.text()
        )
        return box.height() + self.look.px(5)

    def fits(self) -> bool:
        """Whether all words are visible."""
        return self.heightForWidth(self.width()) <= self.height()

    def sizeHint(self) -> QSize:
        width = QFontMetrics(self.look.font(BODY)).horizontalAdvance(self.text()) + self._indent
        return QSize(width + 4, self.heightForWidth(width + 4))

    def minimumSizeHint(self) -> QSize:
        return QSize(self.look.px(60), self.look.px(20))

    def keyPressEvent(self, event: QKeyEvent | None) -> None:
        assert event is not None
        if event.key() in ENTER:
            self.toggle()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent | None) -> None:
        look, painter = self.look, QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        side = look.px(15)
        line = QFontMetrics(look.font(BODY)).height()
        box = QRectF(look.px(4), (line - side) / 2 + look.px(2), side, side)
        on = self.isChecked()
        painter.setPen(QPen(look.colour("muted"), 1.4))
        painter.setBrush(look.colour("focus") if on else look.colour("ground"))
        painter.drawRoundedRect(box, look.px(3), look.px(3))
        if on:
            painter.setPen(QPen(look.colour("on_strong"), look.px(2)))
            corners = ((0.22, 0.52), (0.42, 0.74), (0.80, 0.26))
            painter.drawPolyline(
                QPolygonF([box.topLeft() + QPointF(x * side, y * side) for x, y in corners])
            )
        painter.setFont(look.font(BODY))
        painter.setPen(look.colour("text"))
        words = self.rect().adjusted(self._indent, look.px(2), 0, 0)
        painter.drawText(words, WRAPPED, self.text())
        if self.hasFocus():
            frame_focus(painter, look, QRectF(self.rect()))


class Option(Button):
    """One of a `Pick`; the arrow keys lead to its neighbours."""

    def __init__(self, text: str, press: Callable[[], object], size: float):
        super().__init__(text, press, size)
        self.on = False

    def keyPressEvent(self, event: QKeyEvent | None) -> None:
        assert event is not None
        if event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            event.ignore()
        else:
            super().keyPressEvent(event)

    def mark(self, on: bool) -> None:
        """Show whether it is the one that is picked: filled, and with a mark before its words."""
        self.on = on
        bare = self.text().removeprefix("● ")
        self.say(f"● {bare}" if on else bare, "focus" if on else "")
        self.updateGeometry()


class Pick(Part):
    """Options of which one is picked; none at first unless ``picked`` names it.

    ``per_row`` of them stand side by side; 0: all.
    """

    def __init__(
        self,
        options: Sequence[str],
        changed: Callable[[str], object] = lambda _: None,
        picked: str = "",
        size: float = BODY,
        per_row: int = 0,
    ):
        super().__init__()
        self._changed = changed
        self.picked = ""
        self.options = {name: Option(name, self._picker(name), size) for name in options}
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        buttons = list(self.options.values())
        per_row = per_row or max(1, len(buttons))
        for first in range(0, len(buttons), per_row):
            row = row_of(*buttons[first : first + per_row], spacing=4)
            row.addStretch(1)
            column.addLayout(row)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.show_picked(picked)

    def _picker(self, name: str) -> Callable[[], object]:
        return lambda: self.pick(name)

    def pick(self, name: str) -> None:
        """Pick an option, and tell."""
        if name != self.picked:
            self.show_picked(name)
            self._changed(name)

    def show_picked(self, name: str) -> None:
        """Show an option as picked without telling; empty: none."""
        self.picked = name
        for option, button in self.options.items():
            button.mark(option == name)

    def keyPressEvent(self, event: QKeyEvent | None) -> None:
        assert event is not None
        step = {Qt.Key.Key_Right: 1, Qt.Key.Key_Left: -1}.get(Qt.Key(event.key()), 0)
        buttons = list(self.options.values())
        at = next((i for i, b in enumerate(buttons) if b.hasFocus()), None)
        if not step or at is None:
            super().keyPressEvent(event)
            return
        button = buttons[(at + step) % len(buttons)]
        button.setFocus()
        button.click()


class Line(WritingLine):
    """A line to write in that Tab leads to; Enter leads on to the next."""

    def __init__(self, hint: str = "", changed: Callable[[], object] = lambda: None):
        super().__init__(hint, lambda _: self.focusNextChild())
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.textEdited.connect(lambda _: changed())


class Field(Part):
    """A name and a line to write in, side by side; ``width`` is the line's, in base pixels."""

    def __init__(
        self,
        name: str,
        changed: Callable[[], object] = lambda: None,
        width: float = 0,
        hint: str = "",
        label_width: float = 0,
    ):
        super().__init__()
        self.label = Words(name, BODY, "muted", template="" if label_width else name)
        self.line = Line(hint, changed)
        self.line.setAccessibleName(name)
        self._width, self._label_width = width, label_width
        self._row = row_of(self.label, self.line, spacing=6)
        if width and not label_width:
            self._row.addStretch(1)
        self.setLayout(self._row)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    def fit(self) -> None:
        if self._width:
            self.line.setFixedWidth(self.look.px(self._width))
        if self._label_width:
            self.label.setFixedWidth(self.look.px(self._label_width))

    @property
    def text(self) -> str:
        """What is written, trimmed."""
        return self.line.text().strip()

    def write(self, text: str) -> None:
        """Put a text into the line; nobody is told."""
        self.line.setText(text)


class WritingBox(QPlainTextEdit):
    """Several lines to write in, or, ``read_only``, to read and copy from; Tab leads on."""

    def __init__(
        self, hint: str, changed: Callable[[], object] = lambda: None, read_only: bool = False
    ):
        super().__init__()
        self.setPlaceholderText(hint)
        self.setTabChangesFocus(True)
        self.setReadOnly(read_only)
        flags = Qt.TextInteractionFlag.TextSelectableByKeyboard
        if read_only:
            self.setTextInteractionFlags(flags | Qt.TextInteractionFlag.TextSelectableByMouse)
        self.textChanged.connect(changed)

    @property
    def text(self) -> str:
        """What is written, trimmed."""
        return self.toPlainText().strip()

    def dress(self, look: Look) -> None:
        """Take on a look."""
        palette, px = look.palette, look.px
        self.setFont(look.font(BODY))
        self.setStyleSheet(
            f"QPlainTextEdit {{ background: {palette.ground}; color: {palette.text};"
            f" border: 1px solid {palette.line}; border-radius: {px(4)}px;"
            f" padding: {px(2)}px {px(4)}px; selection-background-color: {palette.focus};"
            f" selection-color: {palette.on_strong}; placeholder-text-color: {palette.muted}; }}"
            f" QPlainTextEdit:focus {{ border-color: {palette.focus}; }} {scroll_style(look)}"
        )

    def keyPressEvent(self, event: QKeyEvent | None) -> None:
        assert event is not None
        found = action_for(event)
        if found is not None and found[0].while_typing and event.key() not in ENTER:
            event.ignore()
            return
        super().keyPressEvent(event)
        event.accept()


class Said(Prose):
    """Sentences that come and go, one a line; takes the room that they need."""

    def __init__(self, text: str = "", size: float = BODY, ink: str = "text"):
        super().__init__(text, size, ink)
        self._look = Look(DARK, 1.0)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def ink(self, ink: str) -> None:
        """Write in another colour, by its name in the palette."""
        if ink != self._ink:
            self._ink = ink
            self.dress(self._look)

    def dress(self, look: Look) -> None:
        """Take on a look."""
        self._look = look
        super().dress(look)

    def say(self, *sentences: str) -> None:
        """Show these sentences, or nothing."""
        text = "\n".join(sentences)
        if text != self.text():
            self.setText(text)
        self.setVisible(bool(text))
