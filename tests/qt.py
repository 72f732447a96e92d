"""Whether windows can be tested here, found out in a process of its own: Qt may abort."""

import subprocess
import sys

TRY = "from PyQt6.QtWidgets import QApplication; QApplication([])"


def qt_works() -> bool:
    """Whether a Qt application starts on the platform that the environment names."""
    command = [sys.executable, "-W", "ignore", "-c", TRY]
    return subprocess.run(command, capture_output=True, check=False).returncode == 0
