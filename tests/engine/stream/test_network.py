"""LSL's configuration: its exact text, and the proof that LSL took it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pylsl
import pytest

from engine.clinic import SESSION_ID as SESSION_ID_PATTERN
from engine.clinic import NetworkSettings
from engine.errors import ConfigError, SourceError
from engine.stream import network
from tests.lsl import SESSION_ID, lsl

__all__ = ["lsl"]

TEMPLATE = b"""[ports]
IPv6 = disable
MulticastPort = 26571
BasePort = 26572
PortRange = 32
[multicast]
ResolveScope = machine
ListenAddress = 127.0.0.1
MachineAddresses = {127.0.0.1}
AddressesOverride = {127.0.0.1}
Interfaces = {127.0.0.1}
TTLOverride = 0
[lab]
KnownPeers = {127.0.0.1}
SessionID = test-0123456789abcdef0123456789abcdef
[tuning]
MulticastMinRTT = 0.05
UnicastMinRTT = 0.1
[log]
level = -2
"""


def test_the_private_text_is_the_template_to_the_byte() -> None:
    text = network.private_text("test-0123456789abcdef0123456789abcdef")
    assert text.encode() == TEMPLATE


def test_real_amplifiers_get_the_same_text_on_standard_ports() -> None:
    expected = TEMPLATE.decode().replace("test-0123456789abcdef0123456789abcdef", "default")
    for line in ("MulticastPort = 26571\n", "BasePort = 26572\n", "PortRange = 32\n"):
        expected = expected.replace(line, "")
    assert network.lsl_text(NetworkSettings()) == expected


def test_a_wider_scope_names_its_peers_and_nothing_of_this_machine() -> None:
    settings = NetworkSettings("link", False, "room-2", ("10.0.0.1", "10.0.0.2"))
    text = network.lsl_text(settings)
    assert network.scope_of(text) == "link"
    assert network.session_id_of(text) == "room-2"
    assert "KnownPeers = {10.0.0.1, 10.0.0.2}\n" in text
    assert "127.0.0.1" not in text


def test_the_reach_is_said_in_words() -> None:
    assert network.reach_of(network.private_text("a")) == "on this computer, session ID 'a'"
    site = NetworkSettings("site", False, "room-2")
    assert network.reach_of(network.lsl_text(site)) == "in the whole site, session ID 'room-2'"


def test_the_environment_can_only_narrow_the_reach() -> None:
    wide = NetworkSettings("site")
    text = network.text_for(wide, {network.SESSION_VARIABLE: "test-1"})
    assert text == network.private_text("test-1")
    assert network.text_for(wide, {}) == network.lsl_text(wide)


def test_two_runs_never_share_a_session_id() -> None:
    ids = {network.new_session_id() for _ in range(50)}
    assert len(ids) == 50
    assert all(SESSION_ID_PATTERN.fullmatch(name) for name in ids)


@pytest.mark.parametrize("name", ["", "a b", "a\nb", "x;y", "x#y", "{x}", "a" * 65, "it's"])
def test_a_session_id_with_stray_characters_is_refused(name: str) -> None:
    with pytest.raises(ConfigError, match="session ID"):
        network.private_text(name)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("IPv6 = disable", "IPv6 = maybe"),
        ("IPv6 = disable", "# a remark"),
        ("IPv6 = disable", "ipv6 = disable"),
        ("IPv6 = disable", "IPv6=disable"),
        ("IPv6 = disable", "IPv6 = disable ; off"),
        ("BasePort = 26572", "BasePort = many"),
        ("BasePort = 26572", "MulticastPort = 26571"),
        ("ResolveScope = machine", "ResolveScope = world"),
        ("MachineAddresses = {127.0.0.1}", "MachineAddresses = {127.0.0.1"),
        ("KnownPeers = {127.0.0.1}", "KnownPeers = {amplifier.local}"),
        ("level = -2\n", "level = -9\n"),
        ("level = -2\n", "level = -2\n\n"),
        ("[lab]", "[lb]"),
    ],
)
def test_a_line_that_lsl_would_choke_on_never_reaches_it(old: str, new: str) -> None:
    text = TEMPLATE.decode().replace(old, new)
    with pytest.raises(SourceError, match="nothing was started"):
        network._check_text(text)


def test_every_text_of_our_own_passes_the_check() -> None:
    peers = NetworkSettings("site", False, "default", ("10.0.0.1", "fe80::1"))
    for text in (network.private_text("a.b_c-1"), network.lsl_text(NetworkSettings())):
        network._check_text(text)
    network._check_text(network.lsl_text(peers))
    network._check_text(network.lsl_text(NetworkSettings("link")))


def test_lsl_shows_our_session_id_on_an_outlet(lsl: str) -> None:
    outlet = pylsl.StreamOutlet(pylsl.StreamInfo("proof", "Test", 1, 0, "float32", "proof"))
    assert outlet.get_info().session_id() == SESSION_ID == network.session_id_of(lsl)


def test_the_same_text_may_be_set_again_and_another_not(lsl: str) -> None:
    network.configure(lsl)
    assert network.require_configured() == lsl
    with pytest.raises(SourceError, match="only once"):
        network.configure(network.private_text("test-other"))


def in_a_new_process(code: str, folder: Path | None = None) -> str:
    """Run code that has LSL to itself; return what it printed, and fail on anything on stderr."""
    prelude = (
        "from engine.clinic import NetworkSettings\n"
        "from engine.errors import SourceError\n"
        "from engine.stream import network\n"
        "import pylsl\n"
        f"text = network.private_text({network.new_session_id()!r})\n"
    )
    environ = os.environ | ({"TMPDIR": str(folder), "TEMP": str(folder)} if folder else {})
    done = subprocess.run(
        [sys.executable, "-c", prelude + code],
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
        cwd=Path(__file__).parents[3],
        env=environ | {"PYTHONIOENCODING": "utf-8"},
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return done.stdout.strip()


REFUSED = """
try:
    network.configure(text)
except SourceError as error:
    print(error)
else:
    print("taken")
"""


def test_a_text_that_comes_after_lsl_was_used_is_found_out() -> None:
    used = "pylsl.StreamInfo('early', 'EEG', 1, 250, 'float32', 'x')\n"
    quiet = "with network._quiet_stderr():\n    " + used
    assert "it was used before" in in_a_new_process(quiet + REFUSED)


def test_a_text_that_lsl_rejects_is_found_out() -> None:
    spoil = (
        "network._check_text = lambda text: None\n"
        "text = text.replace('IPv6 = disable', 'IPv6 = x')\n"
    )
    assert "it rejected the text" in in_a_new_process(spoil + REFUSED)


@pytest.mark.parametrize("scope", ["machine", "link", "site"])
def test_the_texts_of_real_sites_are_taken_without_a_word_or_a_socket(scope: str) -> None:
    code = (
        f"text = network.lsl_text(NetworkSettings({scope!r}))\n"
        "import psutil, os\n"
        + REFUSED
        + "print(len(psutil.Process(os.getpid()).net_connections()))\n"
    )
    assert in_a_new_process(code).split() == ["taken", "0"]


def test_a_temporary_folder_with_a_foreign_name_does_not_stand_in_the_way(tmp_path: Path) -> None:
    folder = tmp_path / "Jörg; #2"
    folder.mkdir()
    code = "import os\nbefore = os.getcwd()\n" + REFUSED + "print(os.getcwd() == before)\n"
    assert in_a_new_process(code, folder).split() == ["taken", "True"]


def test_nothing_opens_before_the_configuration_is_in_force() -> None:
    code = (
        "try:\n    network.require_configured()\nexcept SourceError as error:\n    print(error)\n"
    )
    assert "must be in force" in in_a_new_process(code)
