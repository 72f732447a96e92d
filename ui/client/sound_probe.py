"""Whether sound can be played here: ``python -m ui.client.sound_probe`` tries it.

It prints ``sound`` and ends with 0, or prints why there is none and ends with 1. This module
loads Qt only when it tries, so that a host may ask without loading it.
"""

from __future__ import annotations

import os
import subprocess
import sys

PROBE_S = 20.0
TRIAL_MS = 250


def sound_available(python: str = sys.executable) -> tuple[bool, str]:
    """Tell whether sound can be played here; if not, why and what to do.

    It is tried in a process of its own, since a broken sound system may hang or end a process.
    """
    try:
        done = subprocess.run(
            [python, "-m", "ui.client.sound_probe"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=PROBE_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return False, f"the sound system did not answer in {PROBE_S:g} s; restart it"
    except OSError as error:
        return False, f"sound cannot be tried ({error}); install Python anew"
    return verdict(done.returncode, done.stdout.decode("utf-8", "replace"))


def verdict(status: int, said: str) -> tuple[bool, str]:
    """Read what the probe said: its exit status and its standard output."""
    said = said.strip()
    if status == 0 and said == "sound":
        return True, ""
    return False, said or "the sound system cannot be loaded; install libpulse0 (Linux)"


def main() -> int:
    """Play a quarter of a second of silence, and tell whether it was taken."""
    from PyQt6.QtCore import QCoreApplication, QEventLoop, QTimer

    from ui.client.mixer import Mixer
    from ui.client.sound import Player, SoundError

    application = QCoreApplication(sys.argv[:1])
    player = Player(Mixer(volume=0.0))
    try:
        player.ensure()
        wait = QEventLoop(application)
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
    return 0


if __name__ == "__main__":
    status = main()
    sys.stdout.flush()
    os._exit(status)  # the sound system's own threads may not end
