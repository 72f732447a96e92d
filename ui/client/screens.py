"""Where the client display stands: which screen, and whether it fills it."""

from __future__ import annotations

from PyQt6.QtCore import QRect, Qt
from PyQt6.QtGui import QGuiApplication
from PyQt6.QtWidgets import QWidget

SHARE = 0.6
"""Of the screen, when the display does not fill it."""


def place(window: QWidget, index: int, full_screen: bool) -> None:
    """Show ``window`` on screen ``index``; -1 is where it is.

    A screen that is not there (any more) means a plain window on the first one: the display
    must never cover the desk unasked. The window is moved before it is made full screen, so
    that it takes the size and the scaling of the screen it comes to.
    """
    screens = QGuiApplication.screens()
    missing = index >= len(screens)
    screen = window.screen() if index < 0 else screens[0 if missing else index]
    if screen is None:
        screen = screens[0]
    if window.isFullScreen():
        window.setWindowState(window.windowState() & ~Qt.WindowState.WindowFullScreen)
    window.setScreen(screen)
    if full_screen and not missing:
        window.setGeometry(screen.geometry())
        window.showFullScreen()
    else:
        if missing or index >= 0:
            window.setGeometry(_inside(screen.availableGeometry()))
        window.showNormal()


def _inside(available: QRect) -> QRect:
    """Return a 16:9 rectangle in the middle of what is available."""
    width = min(round(available.width() * SHARE), round(available.height() * SHARE * 16 / 9))
    rect = QRect(0, 0, width, round(width * 9 / 16))
    rect.moveCenter(available.center())
    return rect
