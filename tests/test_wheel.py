"""What is installed is what is in the checkout: every module, every TOML file, no tests."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SHIPPED = ("engine", "ui", "simulators", "configs")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(build, cwd=ROOT, check=True, capture_output=True)
    return next(folder.glob("nudgeline-*.whl"))


def test_the_wheel_holds_every_module_and_every_configuration(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        inside = {name for name in archive.namelist() if ".dist-info/" not in name}
    outside = {
        path.relative_to(ROOT).as_posix()
        for floor in SHIPPED
        for path in (ROOT / floor).rglob("*")
        if path.suffix in {".py", ".toml"}
    }
    assert any(name.startswith("configs/protocols/") for name in outside)
    assert inside == outside


def test_an_installed_copy_finds_its_own_configuration(wheel: Path, tmp_path: Path) -> None:
    site = tmp_path / "site"
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(site)
    ask = (
        f"import sys; sys.path.insert(0, {str(site)!r})\n"
        "from engine.configs_folder import shipped_folder; print(shipped_folder())"
    )
    command = [sys.executable, "-I", "-c", ask]
    found = subprocess.run(
        command, cwd=tmp_path, check=True, capture_output=True, encoding="utf-8"
    ).stdout.strip()
    assert Path(found).resolve() == (site / "configs").resolve()
    assert (Path(found) / "nudgeline.toml").is_file()


def test_the_command_is_declared_with_its_licence(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        info = {name.rpartition("/")[2]: name for name in archive.namelist() if "dist-info" in name}
        entry_points = archive.read(info["entry_points.txt"]).decode()
        metadata = archive.read(info["METADATA"]).decode()
    assert "nudgeline = ui.command_line:main" in entry_points
    assert "License-Expression: GPL-3.0-or-later" in metadata
