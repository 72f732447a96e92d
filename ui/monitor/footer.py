"""The foot of the desk: the note line, the newest remark, and how stream and recording fare."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import PurePath

from PyQt6.QtCore import QRect, QSize, Qt
from PyQt6.QtGui import QFontMetrics, QPainter, QPaintEvent
from PyQt6.QtWidgets import QHBoxLayout, QVBoxLayout

from engine.session.messages import Hello, Remark, Status
from ui.monitor.buttons import Press
from ui.monitor.keys import CAPS
from ui.monitor.memory import Memory
from ui.monitor.parts import Cap, Part, Words
from ui.monitor.wording import clock, number
from ui.monitor.writing import WritingLine
from ui.theme import BODY, SMALL

WRAPPED = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter) | int(
    Qt.TextFlag.TextWordWrap
)
REMARK_S, GRAVE_S, UNDISTURBED_S = 30.0, 120.0, 10.0
"""A remark makes room after so long; a grave one yields to no other before the last."""


class Sentence(Words):
    """A sentence: in one line where it fits, else smaller and in two."""

    def __init__(self) -> None:
        super().__init__("", BODY)

    @property
    def _in_two(self) -> bool:
        return not super().fits()

    def fits(self) -> bool:
        """Whether the whole sentence is visible."""
        if not self._in_two:
            return True
        metrics = QFontMetrics(self.look.font(SMALL))
        box = metrics.boundingRect(QRect(0, 0, self.width(), 9999), WRAPPED, self.text)
        return box.height() <= 2 * metrics.lineSpacing()

    def sizeHint(self) -> QSize:
        return QSize(8, 2 * QFontMetrics(self.look.font(SMALL)).lineSpacing())

    def paintEvent(self, event: QPaintEvent | None) -> None:
        if not self._in_two:
            super().paintEvent(event)
            return
        painter = QPainter(self)
        painter.setFont(self.look.font(SMALL))
        painter.setPen(self.look.colour(self.ink))
        painter.drawText(self.rect(), WRAPPED, self.text)


class Footer(Part):
    """Two lines: what the operator writes and is told; stream, recording, delay and pages."""

    def __init__(
        self, hello: Hello, do: Callable[[str], object], keep: Callable[[str], object]
    ) -> None:
        super().__init__()
        self._hello = hello
        self._remark: Remark | None = None
        self._remark_s = 0.0
        self.note_cap = Cap(CAPS["note"])
        self.note = WritingLine("write a note; Enter keeps it with its time", self._entered)
        self._keep = keep
        self.remark = Sentence()
        self.stream = Words("", SMALL, "muted")
        self.recording = Words("", SMALL, "muted")
        self.pages = [
            Press(text, CAPS[name], self._doing(do, name), SMALL)
            for name, text in (
                ("help", "keys"),
                ("map", "rate map"),
                ("response", "filters"),
                ("theme", "light"),
                ("pause", "hold still"),
                ("quit", "close"),
            )
        ]
        self._upper, self._lower = QHBoxLayout(), QHBoxLayout()
        self._upper.addWidget(self.note_cap)
        self._upper.addWidget(self.note, 4)
        self._upper.addWidget(self.remark, 6)
        for words, share in ((self.stream, 14), (self.recording, 6)):
            self._lower.addWidget(words, share)
        for page in self.pages:
            self._lower.addWidget(page)
        self._column = QVBoxLayout(self)
        self._column.addLayout(self._upper)
        self._column.addLayout(self._lower)

    @staticmethod
    def _doing(do: Callable[[str], object], name: str) -> Callable[[], object]:
        return lambda: do(name)

    def fit(self) -> None:
        look = self.look
        px, palette = look.px, look.palette
        self._column.setContentsMargins(px(10), px(4), px(8), px(4))
        self._column.setSpacing(px(3))
        for row in (self._upper, self._lower):
            row.setSpacing(px(10))
        self.pages[3].say("light" if palette.name == "dark" else "dark")
        for page in self.pages:
            page.setFixedHeight(px(23))

    def _entered(self, text: str) -> None:
        if text:
            self._keep(text)
            self.note.clear()
        self.note.clearFocus()

    def tell(self, remark: Remark, now_s: float) -> None:
        """Show one sentence from the host."""
        grave = self._remark is not None and self._remark.grave and not remark.grave
        if not grave or now_s - self._remark_s > UNDISTURBED_S:
            self._remark, self._remark_s = remark, now_s

    def hold_still(self, still: bool) -> None:
        """Say on its button whether the pictures are held still."""
        self.pages[4].say("go on" if still else "hold still", "focus" if still else "")

    def show_mapped(self, mapped: bool) -> None:
        """Say on its button which picture it leads to."""
        self.pages[1].say("rate course" if mapped else "rate map")

    def show_status(self, memory: Memory) -> None:
        """Show how stream and recording fare, and the newest remark or note."""
        status = memory.status
        if status is None:
            return
        self.stream.say(stream_words(status), "muted" if status.stream_ok else "lost")
        if status.recording_ok:
            name = PurePath(self._hello.recording).name
            where = f" in {name}" if name else ""
            self.recording.say(f"saved to {clock(status.saved_s)}{where}", "muted")
            self.recording.setToolTip(status.recording_line)
        else:
            self.recording.say(f"NOT SAVED: {status.recording_line}", "lost")
        self._show_remark(memory)

    def _show_remark(self, memory: Memory) -> None:
        remark = self._remark
        age_s = memory.now_s - self._remark_s
        if remark is not None and age_s <= (GRAVE_S if remark.grave else REMARK_S):
            self.remark.say(remark.text, "lost" if remark.grave else "text")
        elif memory.note:
            self.remark.say(f"{clock(memory.note_s)}  {memory.note}", "muted")
        elif memory.hello.demo:
            self.remark.say("Demo: a simulated client; nothing here was measured.", "muted")
        else:
            self.remark.say("")

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("panel"))


def stream_words(status: Status) -> str:
    """Say how the stream fares: its name and rate, how far behind, what was lost."""
    words = [status.stream_line]
    if status.stream_ok:
        if status.measured_sfreq is not None:
            words.append(f"{number(status.measured_sfreq, 1)} Hz measured")
        words.append(f"{1000 * status.lag_s:.0f} ms behind")
    if status.lost_samples:
        words.append(f"{status.lost_samples} samples lost")
    return " · ".join(words)
