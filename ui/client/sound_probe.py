"""Try whether sound can be played: ``python -m ui.client.sound_probe``.

Prints ``sound`` and ends with 0, or prints why there is none and ends with 1.
"""

from __future__ import annotations

import os
import sys

from PyQt6.QtCore import QCoreApplication, QEventLoop, QTimer

from ui.client.mixer import Mixer
from ui.client.sound import Player, SoundError

TRIAL_MS = 250


def main() -> int:
    """Play a quarter of a second of silence."""
    application = QCoreApplication(sys.argv)
    player = Player(Mixer(volume=0.0))
    try:
        player.ensure()
        wait = QEventLoop()
        QTimer.singleShot(TRIAL_MS, wait.quit)
        wait.exec()
        player.ensure()
        if player.seconds_taken() == 0.0:
            raise SoundError("the sound device takes no sound; choose another output")
    except SoundError as missing:
        print(missing)
        return 1
    finally:
        player.close()
    print("sound")
    del application
    return 0


if __name__ == "__main__":
    status = main()
    sys.stdout.flush()
    os._exit(status)
