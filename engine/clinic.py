"""Site settings: the network, the folders and the windows of one clinic, not of one client.

Every key, its unit and its range are written in the comments of ``configs/nudgeline.toml``.
"""

from __future__ import annotations

import ipaddress
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from engine.configs_folder import data_folder, find_config
from engine.errors import bad_value
from engine.toml_checks import Table, raise_mistakes, read_toml

SCOPES = ("machine", "link", "site")
THEMES = ("dark", "light")
MOST_SCREENS = 15
MOST_PEERS = 32

SESSION_ID = re.compile(r"[A-Za-z0-9_.-]{1,64}")
"""What may stand in LSL's configuration as a session ID without changing its meaning."""


@dataclass(frozen=True)
class NetworkSettings:
    """How far LSL reaches.

    ``scope`` is ``machine`` (this computer), ``link`` (the cable or the access point) or
    ``site`` (everything routed within the house). ``publish`` opens outlets of events and
    client frames. ``known_peers`` are IP addresses of computers that are asked directly.
    """

    scope: str = "machine"
    publish: bool = False
    session_id: str = "default"
    known_peers: tuple[str, ...] = ()


@dataclass(frozen=True)
class WindowSettings:
    """``client_screen`` counts from 0; -1 takes the second screen where there is one."""

    theme: str = "dark"
    client_screen: int = -1


@dataclass(frozen=True)
class ContactLimits:
    """When a sensor's contact is good enough; the first three as is common practice.

    Attributes
    ----------
    most_kohm : every impedance at most. better_kohm : better at most.
    spread_kohm : the highest may stand above the lowest by at most.
    mains_uv, drift_uv, noise_uv : what the signal itself may hold where no impedance is known:
        mains, microvolts peak; drift within ten seconds, microvolts; noise above the EEG, µV/√Hz.
    impedance_stream : name of the LSL stream of impedances; empty: any of type Impedance.
    impedance_unit : of a stream that states none, ``ohm`` or ``kohm``; empty: it is not read.
    """

    most_kohm: float = 10.0
    better_kohm: float = 5.0
    spread_kohm: float = 3.0
    mains_uv: float = 10.0
    drift_uv: float = 150.0
    noise_uv: float = 0.8
    impedance_stream: str = ""
    impedance_unit: str = ""


@dataclass(frozen=True)
class Clinic:
    """Everything that is set once for a room. ``recordings`` is where sessions are kept."""

    network: NetworkSettings = NetworkSettings()
    windows: WindowSettings = WindowSettings()
    contact: ContactLimits = ContactLimits()
    recordings: Path = field(default_factory=data_folder)

    @property
    def warnings(self) -> tuple[str, ...]:
        """Sentences that the operator should read before a session."""
        if self.network.scope == "machine" and not self.network.publish:
            return ()
        if self.network.scope == "machine":
            return (
                "publish is on: LSL neither encrypts nor authenticates, and its sockets answer "
                "other computers whatever the scope; keep a firewall in front of this one.",
            )
        return (
            f'The network scope is "{self.network.scope}": LSL neither encrypts nor '
            "authenticates, so anyone on that network can read the streams or offer false ones; "
            "use a network of its own.",
        )


def load_clinic(path: Path | None = None) -> Clinic:
    """Read the site's settings: ``path``, else the user's own file, else the program's.

    ConfigError holds one sentence a mistake.
    """
    file = path if path is not None else find_config("nudgeline.toml")
    return clinic_from(read_toml(file), file.name)


def clinic_from(values: dict[str, Any], file: str) -> Clinic:
    """Check the values of a settings file and freeze them; ``file`` is named in every message."""
    mistakes: list[str] = []
    top = Table(values, file, mistakes)
    clinic = Clinic(
        network=_network(top.table("network")),
        windows=_windows(top.table("windows")),
        contact=_contact(top.table("contact")),
        recordings=_recordings(top.table("folders")),
    )
    top.close()
    raise_mistakes(mistakes)
    return clinic


def _network(table: Table) -> NetworkSettings:
    default = NetworkSettings()
    network = NetworkSettings(
        scope=table.choice("scope", SCOPES, default.scope),
        publish=table.flag("publish", default.publish),
        session_id=table.text("session_id", default.session_id, most=64),
        known_peers=table.texts("known_peers", []),
    )
    if network.session_id and not SESSION_ID.fullmatch(network.session_id):
        accepted = "1 to 64 characters of A-Z, a-z, 0-9, _ . and -"
        table.complain("session_id", network.session_id, accepted, "take the others out")
    for peer in network.known_peers:
        if not is_ip_address(peer):
            accepted = "an IP address such as 192.168.10.2 (a name would be looked up outside)"
            table.complain("known_peers", peer, accepted, "write the address")
    if len(network.known_peers) > MOST_PEERS:
        accepted = f"a list of at most {MOST_PEERS} addresses"
        table.complain("known_peers", len(network.known_peers), accepted, "take some out")
    if network.known_peers and network.scope == "machine":
        accepted = 'an empty list while scope is "machine"'
        table.complain(
            "known_peers", list(network.known_peers), accepted, 'empty it or set scope = "link"'
        )
    table.close()
    return network


def is_ip_address(text: str) -> bool:
    """Tell whether ``text`` is an IPv4 or IPv6 address, without a zone or a port."""
    try:
        return "%" not in text and bool(ipaddress.ip_address(text))
    except ValueError:
        return False


def _windows(table: Table) -> WindowSettings:
    default = WindowSettings()
    windows = WindowSettings(
        theme=table.choice("theme", THEMES, default.theme),
        client_screen=table.count("client_screen", -1, MOST_SCREENS, default.client_screen),
    )
    table.close()
    return windows


def _contact(table: Table) -> ContactLimits:
    default = ContactLimits()
    n_before = len(table.mistakes)
    limits = ContactLimits(
        most_kohm=table.number("most_kohm", 1, 1000, "kΩ", default.most_kohm),
        better_kohm=table.number("better_kohm", 0.5, 1000, "kΩ", default.better_kohm),
        spread_kohm=table.number("spread_kohm", 0.5, 1000, "kΩ", default.spread_kohm),
        mains_uv=table.number("mains_uv", 0.1, 1000, "µV", default.mains_uv),
        drift_uv=table.number("drift_uv", 1, 10000, "µV", default.drift_uv),
        noise_uv=table.number("noise_uv", 0.01, 100, "µV/√Hz", default.noise_uv),
        impedance_stream=table.text("impedance_stream", ""),
        impedance_unit=table.choice("impedance_unit", ("", "ohm", "kohm"), ""),
    )
    if limits.better_kohm > limits.most_kohm and len(table.mistakes) == n_before:
        accepted = f"at most most_kohm ({limits.most_kohm:g})"
        table.complain("better_kohm", limits.better_kohm, accepted, "lower it")
    table.close()
    return limits


def _recordings(table: Table) -> Path:
    text = table.text("recordings", "")
    table.close()
    if not text:
        return data_folder()
    folder = Path(text).expanduser()
    if not folder.is_absolute():
        table.complain("recordings", text, "a full path", "write it from the root or from ~")
    return folder


def make_recordings_folder(clinic: Clinic) -> Path:
    """Return the folder of recordings, made for its owner alone (0700) where it is not there.

    ConfigError where it cannot be made or is no folder.
    """
    folder = clinic.recordings
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        folder.mkdir(mode=0o700, exist_ok=True)
    except OSError as error:
        raise bad_value(
            "folders.recordings",
            str(folder),
            f"a folder that can be made and written ({error.strerror})",
            "choose another, or correct the permissions",
        ) from None
    return folder
