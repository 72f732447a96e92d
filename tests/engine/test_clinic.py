"""Site settings: what is shipped, what is refused, and where recordings go."""

from __future__ import annotations

import stat
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from engine.clinic import (
    Clinic,
    NetworkSettings,
    WindowSettings,
    clinic_from,
    load_clinic,
    make_recordings_folder,
)
from engine.configs_folder import shipped_folder
from engine.errors import ConfigError


def test_the_shipped_file_says_what_the_program_assumes() -> None:
    shipped = load_clinic(shipped_folder() / "nudgeline.toml")
    assert shipped == Clinic()
    assert shipped.network == NetworkSettings("machine", False, "default", ())
    assert shipped.windows == WindowSettings("dark", -1)


def test_the_shipped_file_sets_and_explains_every_key() -> None:
    text = (shipped_folder() / "nudgeline.toml").read_text(encoding="utf-8")
    tables = tomllib.loads(text)
    assert {name: set(table) for name, table in tables.items()} == {
        "network": {"scope", "publish", "session_id", "known_peers"},
        "folders": {"recordings"},
        "windows": {"theme", "client_screen"},
        "contact": {
            "most_kohm",
            "better_kohm",
            "spread_kohm",
            "mains_uv",
            "drift_uv",
            "noise_uv",
            "impedance_stream",
            "impedance_unit",
        },
    }
    lines = text.splitlines()
    for i, line in enumerate(lines):
        if "=" in line and not line.startswith("#"):
            assert lines[i - 1].startswith("#"), f"{line} has no comment above it"


def test_nothing_is_published_and_nothing_leaves_unless_it_is_written() -> None:
    assert clinic_from({}, "empty.toml") == Clinic()


def test_wider_scopes_are_taken_with_a_warning() -> None:
    network = {"scope": "site", "known_peers": ["192.168.10.2", "fe80::1"], "session_id": "room-2"}
    clinic = clinic_from({"network": network}, "site.toml")
    assert clinic.network.known_peers == ("192.168.10.2", "fe80::1")
    (warning,) = clinic.warnings
    assert "neither encrypts nor authenticates" in warning


def test_publishing_within_the_machine_is_warned_of_too() -> None:
    (warning,) = clinic_from({"network": {"publish": True}}, "x.toml").warnings
    assert "firewall" in warning
    assert Clinic().warnings == ()


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"network": {"scope": "world"}}, "network.scope is 'world'"),
        ({"network": {"publish": "yes"}}, "network.publish is 'yes'"),
        ({"network": {"session_id": "a b"}}, "network.session_id is 'a b'"),
        ({"network": {"session_id": "a\nKnownPeers = {8.8.8.8}"}}, "network.session_id is"),
        ({"network": {"session_id": "x' or 'a'='a"}}, "network.session_id is"),
        ({"network": {"session_id": ""}}, "network.session_id is ''"),
        ({"network": {"scope": "link", "known_peers": ["amp.local"]}}, "'amp.local'"),
        ({"network": {"scope": "link", "known_peers": ["10.0.0.1}"]}}, "'10.0.0.1}'"),
        ({"network": {"scope": "link", "known_peers": ["fe80::1%eth0"]}}, "'fe80::1%eth0'"),
        ({"network": {"scope": "link", "known_peers": ["10.0.0.1"] * 33}}, "is 33"),
        ({"network": {"known_peers": ["10.0.0.1"]}}, "an empty list while scope"),
        ({"network": {"known_peer": []}}, "network.known_peer is not a known key"),
        ({"windows": {"theme": "blue"}}, "windows.theme is 'blue'"),
        ({"windows": {"client_screen": 16}}, "windows.client_screen is 16"),
        ({"contact": {"most_kohm": 0}}, "contact.most_kohm is 0, but a number from 1 to 1000 kΩ"),
        ({"contact": {"better_kohm": 12}}, "better_kohm is 12.0, but at most most_kohm (10)"),
        ({"contact": {"impedance_unit": "Mohm"}}, "contact.impedance_unit is 'Mohm'"),
        ({"contact": {"mains": 5}}, "contact.mains is not a known key"),
        ({"windows": {"client_screen": 1.5}}, "windows.client_screen is 1.5"),
        ({"folders": {"recordings": "here"}}, "folders.recordings is 'here'"),
        ({"folders": {"recordings": 3}}, "folders.recordings is 3"),
        ({"folder": {}}, "folder is not a known key"),
        ({"network": 3}, "network is 3"),
    ],
)
def test_each_mistake_is_one_sentence(values: dict[str, Any], sentence: str) -> None:
    with pytest.raises(ConfigError) as error:
        clinic_from(values, "site.toml")
    (line,) = str(error.value).splitlines()
    assert line.startswith("site.toml: ")
    assert sentence in line
    assert line.count(";") == 1


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    file = tmp_path / "nudgeline.toml"
    file.write_text('[network]\nscope = "all"\n[windows]\ntheme = 1\n', encoding="utf-8")
    with pytest.raises(ConfigError) as error:
        load_clinic(file)
    assert len(str(error.value).splitlines()) == 2


def test_recordings_are_for_their_owner_alone(tmp_path: Path) -> None:
    clinic = Clinic(recordings=tmp_path / "data" / "sessions")
    folder = make_recordings_folder(clinic)
    assert folder.is_dir()
    if sys.platform != "win32":
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert make_recordings_folder(clinic) == folder


def test_a_file_in_the_place_of_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "sessions").write_text("", encoding="utf-8")
    with pytest.raises(ConfigError, match=r"folders\.recordings"):
        make_recordings_folder(Clinic(recordings=tmp_path / "sessions"))
