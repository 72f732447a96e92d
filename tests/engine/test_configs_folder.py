"""Protocols and settings are found from any folder, and the user's own copies come first."""

from __future__ import annotations

from pathlib import Path

import pytest

from engine import configs_folder
from engine.configs_folder import find_config, find_protocol, protocol_names, shipped_folder
from engine.errors import ConfigError


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give the user a folder of their own, and stand somewhere else."""
    folder = tmp_path / "own"
    (folder / "protocols").mkdir(parents=True)
    monkeypatch.setattr(configs_folder, "own_folder", lambda: folder)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    return folder


@pytest.fixture
def shipped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "shipped"
    (folder / "protocols").mkdir(parents=True)
    for name in ("calm", "steady"):
        (folder / "protocols" / f"{name}.toml").write_text("", encoding="utf-8")
    monkeypatch.setattr(configs_folder, "shipped_folder", lambda: folder)
    return folder


def test_the_settings_travel_with_the_program(own: Path) -> None:
    assert find_config("nudgeline.toml") == shipped_folder() / "nudgeline.toml"


def test_the_users_own_copy_comes_first(own: Path) -> None:
    (own / "nudgeline.toml").write_text("", encoding="utf-8")
    assert find_config("nudgeline.toml") == own / "nudgeline.toml"


def test_a_file_that_is_nowhere_is_refused(own: Path) -> None:
    with pytest.raises(ConfigError, match=r"'other\.toml'"):
        find_config("other.toml")


@pytest.mark.parametrize("name", ["calm", "calm.toml"])
def test_a_bare_name_finds_the_shipped_protocol(own: Path, shipped: Path, name: str) -> None:
    assert find_protocol(name) == shipped / "protocols" / "calm.toml"


def test_an_edited_copy_replaces_the_shipped_protocol(own: Path, shipped: Path) -> None:
    copy = own / "protocols" / "calm.toml"
    copy.write_text("", encoding="utf-8")
    assert find_protocol("calm") == copy
    assert protocol_names() == ("calm", "steady")


def test_a_path_is_taken_as_it_is(own: Path, shipped: Path, tmp_path: Path) -> None:
    file = tmp_path / "calm.toml"
    file.write_text("", encoding="utf-8")
    assert find_protocol(file) == file
    assert find_protocol(str(file)) == file


@pytest.mark.parametrize("asked", ["", "clam", "protocols/calm.toml", "../calm", "/nowhere/x.toml"])
def test_an_unknown_protocol_is_refused_and_those_that_exist_are_listed(
    own: Path, shipped: Path, asked: str
) -> None:
    with pytest.raises(ConfigError, match="calm, steady"):
        find_protocol(asked)
