"""Where the client display stands: which screen, and whether it fills it."""

from __future__ import annotations

from PyQt6.QtCore import QRect, Qt
from PyQt6.QtGui import QGuiApplication
from PyQt6.QtWidgets import QWidget

SHARE, CORNER_SHARE = 0.6, 0.36
"""Of the screen, when the display does not fill it; and where it shares it with the desk."""


def place_first(window: QWidget) -> None:
    """Put a window that appears where it hides least of the desk: another screen, or a corner."""
    screens = QGuiApplication.screens()
    if len(screens) > 1:
        place(window, 1, full_screen=False)
        return
    box = _inside(screens[0].availableGeometry(), CORNER_SHARE)
    box.moveBottomRight(screens[0].availableGeometry().bottomRight())
    window.setGeometry(box)
    window.show()


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
            window.setGeometry(_inside(screen.availableGeometry(), SHARE))
        window.showNormal()


def _inside(available: QRect, share: float) -> QRect:
    """Return a 16:9 rectangle in the middle of what is available."""
    width = min(round(available.width() * share), round(available.height() * share * 16 / 9))
    rect = QRect(0, 0, width, round(width * 9 / 16))
    rect.moveCenter(available.center())
    return rect
