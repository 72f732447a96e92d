"""A small copy of what the client sees, and what the operator decides about it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from PyQt6.QtCore import QRectF
from PyQt6.QtGui import QGuiApplication, QPainter, QPaintEvent
from PyQt6.QtWidgets import QGridLayout, QSizePolicy, QVBoxLayout

from engine.session.asks import AskClient
from engine.session.client_frame import frame_of, shown_during
from engine.session.messages import ClientControl, ClientFrame
from ui.client.scenes import Scene, begun, scene_after, scene_called
from ui.client.words import SCENE_NAMES
from ui.monitor.buttons import Press
from ui.monitor.keys import CAPS
from ui.monitor.memory import Memory
from ui.monitor.parts import CENTRE, Part, Words
from ui.theme import BODY, SMALL

COPY_HEIGHT = 118
"""On the only screen the client's window appears over its copy, which therefore stays in place."""
VOLUME_STEP = 0.05
ASKED_LOOKS = 5
"""What was asked for stands for so many looks at the status, a fifth of a second each."""


class Copy(Part):
    """The client's scene, small. It follows the ticks as the client's window does."""

    def __init__(self) -> None:
        super().__init__()
        self._scene: Scene | None = None
        self._view: Any = None
        self._time_s: float | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def show_now(self, memory: Memory, control: ClientControl) -> None:
        """Move the scene on to the newest tick."""
        tick, status = memory.ticks.latest, memory.status
        if tick is None or status is None:
            return
        dt_s = 0.1 if self._time_s is None else tick.time_s - self._time_s
        self._time_s = tick.time_s
        scene = scene_called(control.scene)
        if scene is not self._scene:
            self._scene, self._view = scene, begun(scene, self._view)
        dt_s = min(max(dt_s, 0.0), 1.0)
        self._view = scene.step(self._view, shown(memory), dt_s, control.closeness)
        self.update()

    def paintEvent(self, event: QPaintEvent | None) -> None:
        width = min(self.width(), self.height() * 16 / 9)
        height = width * 9 / 16
        left, top = (self.width() - width) / 2, (self.height() - height) / 2
        scene = self._scene or scene_called("")
        view = self._view or scene.first()
        scene.paint(QPainter(self), QRectF(left, top, width, height), view)


def shown(memory: Memory) -> ClientFrame:
    """Return the frame that the client's window has now; the memory must hold a status."""
    status = memory.status
    assert status is not None
    phase, prompt = status.phase, ""
    if status.stretch is not None:
        phase, prompt = shown_during(status.stretch.what, memory.hello.protocol.eyes)
    return frame_of(replace(memory.client_view, points=status.points), phase, prompt)


class ClientCard(Part):
    """The copy, and buttons for sound, scene and screen; each says what is now the case."""

    def __init__(self, control: ClientControl, ask: Callable[[AskClient], object]):
        super().__init__()
        self.control = control
        self._ask = ask
        self._patience = 0
        self.caption = Words("the client sees", BODY, "muted")
        self.copy = Copy()
        self.softer = Press("−", CAPS["softer"], lambda: self.do("softer"), SMALL + 1)
        self.volume = Words("", SMALL + 1, align=CENTRE)
        self.louder = Press("+", CAPS["louder"], lambda: self.do("louder"), SMALL + 1)
        self.switches = {
            name: Press("", CAPS[name], self._doing(name), SMALL + 1)
            for name in ("mute", "scene", "closeness", "tone", "client_full", "client_screen")
        }
        self._column = QVBoxLayout(self)
        self._column.addWidget(self.caption)
        self._column.addWidget(self.copy)
        self._column.addStretch(1)
        self._grid = QGridLayout()
        self._grid.addWidget(self.softer, 0, 0)
        self._grid.addWidget(self.volume, 0, 1)
        self._grid.addWidget(self.louder, 0, 2)
        self._grid.addWidget(self.switches["mute"], 0, 3, 1, 3)
        self._grid.addWidget(self.switches["scene"], 1, 0, 1, 6)
        self._grid.addWidget(self.switches["closeness"], 2, 0, 1, 3)
        self._grid.addWidget(self.switches["tone"], 2, 3, 1, 3)
        self._grid.addWidget(self.switches["client_full"], 3, 0, 1, 3)
        self._grid.addWidget(self.switches["client_screen"], 3, 3, 1, 3)
        for column in range(6):
            self._grid.setColumnStretch(column, 1)
        self._column.addLayout(self._grid)
        self._say()

    def _doing(self, name: str) -> Callable[[], object]:
        return lambda: self.do(name)

    def fit(self) -> None:
        px = self.look.px
        self._column.setContentsMargins(px(12), px(10), px(12), px(10))
        self._column.setSpacing(px(6))
        self._grid.setSpacing(px(4))
        self.copy.setFixedHeight(px(COPY_HEIGHT))
        self.setFixedWidth(px(292))

    def do(self, name: str) -> bool:
        """Change what ``name`` stands for and ask for it; False if it is none of ours."""
        now = self.control
        volume = round(now.volume / VOLUME_STEP) * VOLUME_STEP
        match name:
            case "softer":
                new = replace(now, volume=round(max(0.0, volume - VOLUME_STEP), 2))
            case "louder":
                new = replace(now, volume=round(min(1.0, volume + VOLUME_STEP), 2))
            case "mute":
                new = replace(now, muted=not now.muted)
            case "scene":
                new = replace(now, scene=scene_after(now.scene))
            case "closeness":
                new = replace(now, closeness=not now.closeness)
            case "tone":
                new = replace(now, tone=not now.tone)
            case "client_full":
                new = replace(now, full_screen=not now.full_screen)
            case "client_screen":
                n_screens = len(QGuiApplication.screens())
                new = replace(now, screen=now.screen + 1 if now.screen + 1 < n_screens else -1)
            case _:
                return False
        if new != now:
            self.control = new
            self._patience = ASKED_LOOKS
            self._say()
            self._ask(AskClient(new))
        return True

    def _say(self) -> None:
        c = self.control
        self.volume.say(f"{100 * c.volume:.0f} %")
        words = {
            "mute": "sound off" if c.muted else "sound on",
            "scene": f"scene: {SCENE_NAMES.get(c.scene, c.scene)}",
            "closeness": "scene follows" if c.closeness else "scene stays",
            "tone": "tone on" if c.tone else "tone off",
            "client_full": "full screen" if c.full_screen else "in a window",
            "client_screen": "any screen" if c.screen < 0 else f"screen {c.screen + 1}",
        }
        for name, text in words.items():
            self.switches[name].say(text, "muted" if name == "mute" and c.muted else "")

    def show_status(self, memory: Memory) -> None:
        """Say whether the client's window is there, and follow what the host says of it."""
        status = memory.status
        self._patience = max(0, self._patience - 1)
        if status is not None:
            if not self._patience and status.client != self.control:
                self.control = status.client
                self._say()
            shown = status.client_shown
            self.caption.say(
                "the client sees" if shown else "the client's window is not shown",
                "muted" if shown else "lost",
            )

    def show_now(self, memory: Memory) -> None:
        """Move the copy on."""
        self.copy.show_now(memory, self.control)

    def paintEvent(self, event: QPaintEvent | None) -> None:
        QPainter(self).fillRect(self.rect(), self.look.colour("panel"))
