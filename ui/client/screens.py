"""Where the client display stands: which screen, and whether it fills it."""

from __future__ import annotations

from PyQt6.QtCore import QRect, Qt
from PyQt6.QtGui import QGuiApplication
from PyQt6.QtWidgets import QWidget

from ui.theme import scale_for

SHARE = 0.6
"""Of the screen, when the display does not fill it."""
STEPS_TALL = 34.0
"""The row of steps above the desk's page, in base pixels of the theme."""
COPY_MIDDLE, COPY_TOP, COPY_SIZE = 153.0, 116.0, (209.0, 117.6)
"""Where a desk that fills the screen shows its small copy of the display, in base pixels of the
theme: its middle from the right edge, its top and its size. A test holds this to the desk."""


def place_first(window: QWidget) -> None:
    """Put a window that appears where it hides nothing of the desk.

    That is another screen, or, where there is one alone, over the desk's own copy of it.
    """
    screens = QGuiApplication.screens()
    if len(screens) > 1:
        place(window, 1, full_screen=False)
        return
    window.setGeometry(over_the_copy(screens[0].availableGeometry()))
    window.show()


def over_the_copy(available: QRect) -> QRect:
    """Return where a desk that fills ``available`` shows its copy of the display."""
    steps = round(STEPS_TALL * scale_for(available.width(), available.height()))
    scale = scale_for(available.width(), available.height() - steps)
    width, height = (round(side * scale) for side in COPY_SIZE)
    left = available.right() + 1 - round(COPY_MIDDLE * scale) - width // 2
    return QRect(left, available.top() + steps + round(COPY_TOP * scale) + 1, width, height)


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
