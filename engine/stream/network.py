"""LSL's own configuration: how far it reaches, set before its first call and proved in force.

LSL fails open: one bad line and the whole text is rejected, silently, for defaults that search
the whole site. So the text is checked before LSL sees it, and afterwards LSL has to show that
it was taken. The proof opens no socket: the text also names a log file, which LSL makes while
it reads the text and into which it writes when it rejects it. (Reading the session ID back from
an outlet would prove less, since most sites use LSL's own default ID, and an outlet listens on
every interface.)
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import tempfile
import threading
from collections.abc import Iterator, Mapping
from pathlib import Path
from uuid import uuid4

import pylsl

from engine.clinic import SCOPES, SESSION_ID, NetworkSettings, is_ip_address
from engine.errors import SourceError, bad_value

OLDEST_LIBLSL = 118
SESSION_VARIABLE = "NUDGELINE_LSL_SESSION"
"""Where it is set, programs use private ports on this machine and see only that session ID.

It can narrow the reach, never widen it: demo and tests use it so that a simulator and a host in
two processes find each other and nobody else.
"""

_HOME = "127.0.0.1"
_PRIVATE_PORTS = "MulticastPort = 26571\nBasePort = 26572\nPortRange = 32\n"
_MACHINE = (
    "[ports]\n"
    "IPv6 = disable\n"
    "{ports}"
    "[multicast]\n"
    "ResolveScope = machine\n"
    "ListenAddress = 127.0.0.1\n"
    "MachineAddresses = {{127.0.0.1}}\n"
    "AddressesOverride = {{127.0.0.1}}\n"
    "Interfaces = {{127.0.0.1}}\n"
    "TTLOverride = 0\n"
    "[lab]\n"
    "KnownPeers = {{127.0.0.1}}\n"
    "SessionID = {session_id}\n"
    "[tuning]\n"
    "MulticastMinRTT = 0.05\n"
    "UnicastMinRTT = 0.1\n"
    "[log]\n"
    "level = -2\n"
)
_WIDER = (
    "[multicast]\n"
    "ResolveScope = {scope}\n"
    "[lab]\n"
    "KnownPeers = {{{peers}}}\n"
    "SessionID = {session_id}\n"
    "[log]\n"
    "level = -2\n"
)
_NUMBER = re.compile(r"\d{1,5}(\.\d{1,3})?|-2")
_KEYS = {
    "ports": {"IPv6", "MulticastPort", "BasePort", "PortRange"},
    "multicast": {
        "ResolveScope",
        "ListenAddress",
        "MachineAddresses",
        "AddressesOverride",
        "Interfaces",
        "TTLOverride",
    },
    "lab": {"KnownPeers", "SessionID"},
    "tuning": {"MulticastMinRTT", "UnicastMinRTT"},
    "log": {"level"},
}

_lock = threading.Lock()
_in_force: str | None = None


def new_session_id() -> str:
    """Return a session ID that nobody else has, for a demo or a test."""
    return f"test-{uuid4().hex}"


def private_text(session_id: str) -> str:
    """Return the configuration of a demo or a test: this machine, private ports, own session."""
    if not SESSION_ID.fullmatch(session_id):
        accepted = "1 to 64 characters of A-Z, a-z, 0-9, _ . and -"
        raise bad_value("session ID", session_id, accepted, "take the others out")
    return _MACHINE.format(ports=_PRIVATE_PORTS, session_id=session_id)


def lsl_text(network: NetworkSettings) -> str:
    """Return the configuration for real amplifiers: standard ports, the scope of the site."""
    if network.scope == "machine":
        return _MACHINE.format(ports="", session_id=network.session_id)
    peers = ", ".join(network.known_peers)
    return _WIDER.format(scope=network.scope, peers=peers, session_id=network.session_id)


def text_for(network: NetworkSettings, environ: Mapping[str, str]) -> str:
    """Return the private configuration where ``environ`` asks for one, else the site's."""
    session_id = environ.get(SESSION_VARIABLE, "")
    return private_text(session_id) if session_id else lsl_text(network)


def configure(text: str) -> None:
    """Put ``text`` in force in this process; every process that uses LSL calls this first.

    Calling it again with the same text does nothing. Raises SourceError, with nothing started,
    where LSL is too old, was used before, or did not take the text.
    """
    global _in_force
    with _lock:
        if text == _in_force:
            return
        if _in_force is not None:
            raise SourceError(
                "The network configuration of LSL is already set in this program, but it can be "
                "set only once; start the program again to change it."
            )
        _check_text(text)
        _check_version()
        with _log_folder() as (folder, name):
            pylsl.set_config_content(f"{text}file = {name}\n")
            with _quiet_stderr():  # the log says on stderr where it writes
                pylsl.StreamInfo("nobody", "", 1, 0, pylsl.cf_string, "")
            _check_log(folder / "lsl.log")
        _in_force = text


def require_configured() -> str:
    """Return the text in force; SourceError where none is, so that nothing opens unguarded."""
    if _in_force is None:
        raise SourceError(
            "The network configuration of LSL is not set, but it must be in force before any "
            "stream is looked for or opened; call configure first."
        )
    return _in_force


def session_id_of(text: str) -> str:
    """Return the session ID that a configuration sets."""
    found = re.search(r"^SessionID = (.+)$", text, re.MULTILINE)
    return found.group(1) if found else "default"


def scope_of(text: str) -> str:
    """Return the scope that a configuration sets."""
    found = re.search(r"^ResolveScope = (.+)$", text, re.MULTILINE)
    return found.group(1) if found else "site"


def reach_of(text: str) -> str:
    """Say where a configuration looks for streams, for messages about one that is not found."""
    place = {"machine": "on this computer", "link": "on this link", "site": "in the whole site"}
    return f"{place[scope_of(text)]}, session ID {session_id_of(text)!r}"


def _check_version() -> None:
    version = pylsl.library_version()
    if version < OLDEST_LIBLSL:
        raise SourceError(
            f"liblsl is version {version / 100:.2f}, but {OLDEST_LIBLSL / 100:.2f} or newer is "
            "accepted; install a newer pylsl."
        )


def _check_text(text: str) -> None:
    """Read the text as strictly as LSL ought to; SourceError names the line that is off."""
    section = ""
    seen: set[tuple[str, str]] = set()
    for line in text.splitlines():
        heading = re.fullmatch(r"\[(\w+)\]", line)
        if heading:
            section = heading.group(1)
            continue
        key, separator, value = line.partition(" = ")
        known = key in _KEYS.get(section, ()) and (section, key) not in seen
        if not separator or not known or not _value_is_sound(key, value):
            raise SourceError(
                f"The network configuration holds the line {line!r}, but LSL would drop the "
                "whole of it for a line that is not sound; nothing was started, correct the line."
            )
        seen.add((section, key))
    if not text.endswith("[log]\nlevel = -2\n"):
        raise SourceError(
            "The network configuration does not end in its [log] section, but the proof that it "
            "is in force needs it there; nothing was started, correct the text."
        )


def _value_is_sound(key: str, value: str) -> bool:
    if key == "SessionID":
        return SESSION_ID.fullmatch(value) is not None
    if key == "ResolveScope":
        return value in SCOPES
    if key == "IPv6":
        return value == "disable"
    if key == "ListenAddress":
        return is_ip_address(value)
    if value.startswith("{") and value.endswith("}"):
        inside = value[1:-1]
        return not inside or all(is_ip_address(part) for part in inside.split(", "))
    return _NUMBER.fullmatch(value) is not None


def _check_log(log: Path) -> None:
    said = log.read_text(encoding="utf-8", errors="replace") if log.exists() else ""
    if not said or "rolling back" in said:
        reason = re.search(r"Error parsing config content: (.*), rolling", said)
        why = f"it rejected the text: {reason.group(1)}" if reason else "it was used before"
        raise SourceError(
            f"LSL did not take its network configuration ({why}), but without it streams would "
            "be looked for on the whole site; nothing was started, start the program again."
        )


@contextlib.contextmanager
def _log_folder() -> Iterator[tuple[Path, str]]:
    """Yield a new folder of our own and the log's name, in plain letters, as LSL shall open it."""
    folder = Path(tempfile.mkdtemp(prefix="nudgeline-lsl-"))
    name = str(folder / "lsl.log")
    before = None
    if not re.fullmatch(r"[ !$-:<-~]+", name):
        before = Path.cwd()
        os.chdir(folder)
        name = "lsl.log"
    try:
        yield folder, name
    finally:
        if before is not None:
            os.chdir(before)
        shutil.rmtree(folder, ignore_errors=True)  # Windows keeps it while LSL has it open


@contextlib.contextmanager
def _quiet_stderr() -> Iterator[None]:
    """Keep what a library writes to standard error, below Python, off the screen."""
    try:
        kept = os.dup(2)
    except OSError:  # a windowed program without a standard error
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(nowhere)
        os.close(kept)
