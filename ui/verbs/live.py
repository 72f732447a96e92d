"""What `run` and `demo` share: windows or none, one session, and what it came to."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from engine.clinic import Clinic
from engine.configs_folder import protocol_names
from engine.errors import ConfigError
from engine.protocol import Protocol
from engine.records.opening import records_path
from engine.session.host import run_session
from engine.session.messages import Reception
from engine.session.operator import NEXT_CLIENT
from engine.session.qt_probe import qt_available
from engine.session.result import SessionResult
from engine.session.window_process import Window
from engine.stream.messages import Source
from ui.verbs.choices import checked_seconds
from ui.verbs.filing import filed
from ui.verbs.passphrase import passphrase_to_record_with
from ui.verbs.reception import chosen_at_the_desk, reception_for, require_sound
from ui.verbs.score import lines
from ui.verbs.speech import print_json, say

HEADLESS_S = 60.0
"""How long a headless run lasts where ``--seconds`` does not say."""

WINDOWS = (
    Window("desk", "ui.monitor.window:main", needed=True, two_way=True),
    Window("client display", "ui.client.window:main", needed=True),
)


@dataclass(frozen=True)
class Sitting:
    """How a session is run: with which windows, and for how long when nobody is asked."""

    windows: Sequence[Window]
    seconds: float | None

    @property
    def headless(self) -> bool:
        return not self.windows


def sitting_for(options: Namespace, protocol: Protocol | None) -> Sitting:
    """Decide on windows; without a display the same session runs headless, and says so.

    ``protocol`` is None where the desk is to choose it. ConfigError where nobody can, and where
    eyes are closed, since sound alone carries such a session, and there is none.
    """
    seconds = checked_seconds(options.seconds)
    windows: Sequence[Window] = WINDOWS
    if options.headless:
        windows = ()
    else:
        probe = qt_available()
        if not probe.available:
            say(f"No windows: {probe.why}; the session runs headless. To see it: {probe.install}.")
            windows = ()
    if protocol is None and not windows:
        raise ConfigError(
            "--protocol is not given, but without windows a file or a shipped name is needed "
            f"({', '.join(protocol_names())}); name one."
        )
    if windows and protocol is not None and protocol.eyes == "closed":
        require_sound(protocol)
    if not windows and seconds is None:
        seconds = HEADLESS_S
    return Sitting(windows, seconds)


def run_sittings(
    open_source: Callable[[], Source],
    protocol: Protocol | None,
    clinic: Clinic,
    sitting: Sitting,
    *,
    title: str,
    demo: bool,
) -> SessionResult:
    """Run a session, and another one for every next client; return what the last came to."""
    passphrase = passphrase_to_record_with(records_path(clinic))
    while True:
        result = _run_sitting(
            open_source(),
            protocol,
            clinic,
            sitting,
            title=title,
            demo=demo,
            passphrase=passphrase,
        )
        if result.ended != NEXT_CLIENT:
            return result
        report(result, False, {})
        protocol, title = None, ""


def _run_sitting(
    source: Source,
    protocol: Protocol | None,
    clinic: Clinic,
    sitting: Sitting,
    *,
    title: str,
    demo: bool,
    passphrase: str,
) -> SessionResult:
    """Run the session; with ``publish`` on, events and client frames leave as LSL outlets."""
    publisher = None
    reception = Reception(passphrase=passphrase, demo=demo)
    if not sitting.headless:
        reception = reception_for(clinic, passphrase, demo, waiting=protocol is None)
    if clinic.network.publish:
        from engine.stream.outlets import LslPublisher

        publisher = LslPublisher()
    try:
        return run_session(
            source,
            protocol,
            clinic,
            sitting.windows,
            reception=reception,
            choose=chosen_at_the_desk,
            filed=filed,
            headless_seconds=sitting.seconds,
            publisher=publisher,
            title=title,
            demo=demo,
            say=say,
        )
    finally:
        if publisher is not None:
            publisher.close()


def report(result: SessionResult, as_json: bool, values: dict[str, Any]) -> int:
    """Say how a session ended, and print ``values`` as JSON or the summary in words."""
    if result.recording is not None:
        say(f"Recorded in {result.recording}")
    if result.error is not None:
        say(str(result.error))
    if as_json:
        print_json(values)
    elif result.summary:
        for line in lines(result.summary):
            print(line)
    return result.exit_status


def latency_ms(result: SessionResult) -> dict[str, float | None]:
    """Return the time from a sample's arrival to the point it makes, in milliseconds."""
    return {"median": result.latency.median_ms, "p99": result.latency.p99_ms}
