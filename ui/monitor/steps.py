"""The steps of a visit, in a row at the top of the desk: each can be gone to at any time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PyQt6.QtGui import QPainter, QPaintEvent
from PyQt6.QtWidgets import QHBoxLayout

from engine.session.messages import Status
from ui.monitor.buttons import Press
from ui.monitor.parts import RIGHT, Part, Words
from ui.monitor.wording import about, clock
from ui.theme import BODY, SMALL

BAR_HEIGHT = 34.0


@dataclass(frozen=True)
class Step:
    """One page of the desk. ``alone``: it can be used before a stream is there."""

    name: str
    title: str
    alone: bool = False


STEPS = (
    Step("client", "Client", alone=True),
    Step("measure", "Measure", alone=True),
    Step("contact", "Contact"),
    Step("check", "Check"),
    Step("baseline", "Baseline"),
    Step("train", "Train"),
    Step("look_back", "Look back"),
    Step("care", "Care", alone=True),
)

NAMES = tuple(step.name for step in STEPS)


class StepBar(Part):
    """A button a step, the one on screen filled; at the right how the training fares."""

    def __init__(self, go: Callable[[str], object]):
        super().__init__()
        self.buttons = {
            step.name: Press(f"{place} {step.title}", "", self._going(go, step.name))
            for place, step in enumerate(STEPS, start=1)
        }
        self.hint = Words("Ctrl+1–8", SMALL, "muted", template="Ctrl+1–8 ")
        self.state = Words("", BODY, "muted", align=RIGHT)
        self._row = QHBoxLayout(self)
        for button in self.buttons.values():
            self._row.addWidget(button)
        self._row.addWidget(self.hint)
        self._row.addWidget(self.state, 1)

    @staticmethod
    def _going(go: Callable[[str], object], name: str) -> Callable[[], object]:
        return lambda: go(name)

    def fit(self) -> None:
        px = self.look.px
        self._row.setContentsMargins(px(7), px(4), px(12), px(2))
        self._row.setSpacing(px(4))
        self.setFixedHeight(px(BAR_HEIGHT))
        for button in self.buttons.values():
            button.setFixedHeight(px(BAR_HEIGHT - 7))

    def show_step(self, name: str) -> None:
        """Mark the step that is on screen."""
        for step in STEPS:
            self.buttons[step.name].say(
                self.buttons[step.name].text(), "focus" if step.name == name else ""
            )

    def show_status(self, status: Status | None, step: str) -> None:
        """Say beside the pages other than the training how it fares."""
        if status is None or step == "train":
            self.state.say("")
            return
        rate = status.rate.per_minute
        words = [status.phase]
        if status.phase == "training":
            words[0] = f"training, {clock(status.phase_left_s)} left"
        words.append(f"{status.points} point{'' if status.points == 1 else 's'}")
        if rate is not None:
            words.append(f"{about(rate)} a minute")
        if not status.stream_ok:
            words = [status.stream_line]
        if not status.recording_ok:
            words = ["NOT SAVED"]
        good = status.stream_ok and status.recording_ok
        self.state.say(" · ".join(words), "muted" if good else "lost")

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("ground"))
