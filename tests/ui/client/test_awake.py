import os
import subprocess
import sys

import pytest

from ui.client.awake import WHY, keep_awake

ASK = (
    "from PyQt6.QtCore import QCoreApplication as A; from ui.client.awake import keep_awake; "
    "application = A([]); keep_awake(); application.processEvents()"
)


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="other systems have no D-Bus")
def test_where_the_system_cannot_be_asked_nothing_happens() -> None:
    nowhere = {**os.environ, "DBUS_SESSION_BUS_ADDRESS": "unix:path=/nowhere/bus"}
    done = subprocess.run(
        [sys.executable, "-c", ASK], env=nowhere, capture_output=True, text=True, timeout=20
    )
    assert (done.returncode, done.stdout) == (0, "")


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="other systems have no D-Bus")
def test_on_a_desktop_the_screen_saver_is_asked_to_wait(monkeypatch: pytest.MonkeyPatch) -> None:
    from PyQt6 import QtDBus

    class Bus:
        asked: list[QtDBus.QDBusMessage] = []  # noqa: RUF012

        @staticmethod
        def sessionBus() -> "Bus":  # noqa: N802
            return Bus()

        def isConnected(self) -> bool:  # noqa: N802
            return True

        def asyncCall(self, message: QtDBus.QDBusMessage) -> None:  # noqa: N802
            Bus.asked.append(message)

    monkeypatch.setattr(QtDBus, "QDBusConnection", Bus)
    keep_awake()
    (message,) = Bus.asked
    assert (message.service(), message.member()) == ("org.freedesktop.ScreenSaver", "Inhibit")
    assert message.arguments() == ["Nudgeline", WHY]
