"""Keep the screen from going dark while a client watches it; it ends with the process."""

from __future__ import annotations

import ctypes
import os
import subprocess
import sys
from contextlib import suppress

WHY = "a session is on the screen"
KEEP_ON = 0x80000000 | 0x1 | 0x2
"""Windows: continuously, system required, display required."""


def keep_awake() -> None:
    """Ask the system, in its own way; where it cannot be asked, nothing happens."""
    if sys.platform == "win32":
        ctypes.windll.kernel32.SetThreadExecutionState(KEEP_ON)
    elif sys.platform == "darwin":
        with suppress(OSError):
            subprocess.Popen(["caffeinate", "-d", "-w", str(os.getpid())])
    else:
        _ask_over_dbus()


def _ask_over_dbus() -> None:
    try:
        from PyQt6.QtDBus import QDBusConnection, QDBusMessage
    except ImportError:
        return
    bus = QDBusConnection.sessionBus()
    if bus.isConnected():
        name, path = "org.freedesktop.ScreenSaver", "/org/freedesktop/ScreenSaver"
        ask = QDBusMessage.createMethodCall(name, path, name, "Inhibit")
        ask.setArguments(["Nudgeline", WHY])
        bus.asyncCall(ask)
