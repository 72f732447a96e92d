"""Whether a window can be opened on this machine, found out where it cannot hurt.

Qt ends the whole process (status 134) when it finds no display or lacks a library. So another
process tries it first, and the host itself never loads Qt.
"""

from __future__ import annotations

import re
import subprocess
import sys
from typing import NamedTuple

PROBE_S = 30.0

_TRY = "from PyQt6.QtWidgets import QApplication; QApplication([])"

_DEBIAN_PACKAGES = (
    "libegl1 libgl1 libfontconfig1 libxkbcommon0 libglib2.0-0 libdbus-1-3 libxkbcommon-x11-0 "
    "libx11-xcb1 libxcb-cursor0 libxcb-icccm4 libxcb-image0 libxcb-keysyms1 libxcb-randr0 "
    "libxcb-render-util0 libxcb-shape0 libxcb-xkb1 libpulse0"
)


class QtProbe(NamedTuple):
    """Whether windows can be opened; if not, why, and what to install or do."""

    available: bool
    why: str = ""
    install: str = ""


def qt_available(python: str = sys.executable) -> QtProbe:
    """Open a Qt application in a process of its own, and tell how that went."""
    try:
        done = subprocess.run(
            [python, "-c", _TRY],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            timeout=PROBE_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return QtProbe(False, f"Qt did not start in {PROBE_S:g} s", "look at the display")
    except OSError as error:
        return QtProbe(False, f"Qt could not be tried ({error})", "install Python anew")
    return verdict(done.returncode, done.stderr.decode("utf-8", "replace"))


def verdict(status: int, said: str) -> QtProbe:
    """Read what the trial said: its exit status and its standard error."""
    if status == 0:
        return QtProbe(True)
    if "No module named" in said:
        return QtProbe(False, "PyQt6 is not installed", f"{sys.executable} -m pip install PyQt6")
    if "could not connect to display" in said:
        return QtProbe(False, "there is no display", "start it from a desktop, or set DISPLAY")
    missing = re.search(r"(lib[\w.+-]+\.so[.\d]*): cannot open shared object", said)
    why = f"{missing[1]} is missing" if missing else "Qt cannot open a window"
    return QtProbe(False, why, f"sudo apt-get install {_DEBIAN_PACKAGES}")
