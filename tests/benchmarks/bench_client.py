"""What the client display costs.

``python -m tests.benchmarks.bench_client [WIDTH HEIGHT] [--scene shore|bowl|still]``

The real window runs on the platform at hand (a screen, Xvfb, or ``QT_QPA_PLATFORM=offscreen``)
under frames like those of a lively session, and tells frames a second and the share of one
processor core that its process takes, everything included. Wanted: 30 to 60 frames a second at
30 % or less, at 1920 x 1080 in software rendering.
"""

from __future__ import annotations

import random
import sys
import time
from argparse import ArgumentParser

from PyQt6.QtCore import QEventLoop, Qt, QTimer
from PyQt6.QtGui import QImage, QPainter
from PyQt6.QtWidgets import QApplication

from engine.session.messages import ClientControl, ClientFrame
from ui.client.scenes import SCENES, Scene
from ui.client.window import ClientWindow

WARM_UP_S, MEASURED_S = 4.0, 12.0
FRAME_MS = 40
PHASES = {"training": (True, "training"), "hidden": (False, "training"), "rest": (True, "rest")}
"""Whether the signal is clear, and the phase that the frames carry."""


class LivelySession:
    """Client frames with a hold that breaks often and 20 points a minute."""

    def __init__(self) -> None:
        self._rng = random.Random(7)
        self._progress, self._closeness, self._points = 0.0, 0.5, 60

    def frame(self, clear: bool, phase: str) -> ClientFrame:
        """Return the next frame."""
        self._closeness += self._rng.gauss(0, 0.08)
        self._closeness = min(max(self._closeness, 0.0), 1.0)
        self._progress += FRAME_MS / 1000 / 0.75
        if self._rng.random() < 0.08:
            self._progress *= 0.4
        if self._progress >= 1:
            self._progress, self._points = 0.0, self._points + 1
        return ClientFrame(self._progress, self._closeness, clear, self._points, phase)


def main() -> None:
    """Print one line a phase."""
    options = ArgumentParser()
    options.add_argument("size", nargs="*", type=int, default=[1920, 1080])
    options.add_argument("--scene", choices=list(SCENES), default="shore")
    asked = options.parse_args()
    size = asked.size
    application = QApplication(sys.argv[:1])
    _first_picture(SCENES[asked.scene], *size)
    window = ClientWindow(closable=True)
    window.setWindowFlag(Qt.WindowType.FramelessWindowHint)
    window.hear(ClientControl(scene=asked.scene, tone=True))
    session = LivelySession()
    now = {"phase": "training"}
    feed = QTimer()
    feed.timeout.connect(lambda: window.hear(session.frame(*PHASES[now["phase"]])))
    feed.start(FRAME_MS)
    window.begin()
    window.setGeometry(0, 0, *size)
    sound = window.sound_missing or "playing"
    place = f"platform {application.platformName()}, {size[0]} x {size[1]}"
    print(f"{asked.scene}: {place}, sound: {sound}")
    for phase in PHASES:
        now["phase"] = phase
        _run(WARM_UP_S)
        frames, used_s, began = window.frames_drawn, time.process_time(), time.perf_counter()
        _run(MEASURED_S)
        lasted_s = time.perf_counter() - began
        rate = (window.frames_drawn - frames) / lasted_s
        share = (time.process_time() - used_s) / lasted_s
        print(f"{phase:9} {rate:5.1f} frames a second   {100 * share:4.1f} % of one core")
    window.close()


def _first_picture(scene: Scene, width: int, height: int) -> None:
    image = QImage(width, height, QImage.Format.Format_RGB32)
    for what in ("first picture, layers painted", "next picture"):
        began = time.perf_counter()
        painter = QPainter(image)
        scene.paint(painter, image.rect().toRectF(), scene.first())
        painter.end()
        print(f"{what}: {1000 * (time.perf_counter() - began):.1f} ms")


def _run(seconds: float) -> None:
    wait = QEventLoop()
    QTimer.singleShot(round(1000 * seconds), wait.quit)
    wait.exec()


if __name__ == "__main__":
    main()
