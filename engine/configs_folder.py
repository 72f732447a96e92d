"""Finding what travels with the program in ``configs/``, and the user's own edited copies.

A protocol is asked for by path or by its bare name (``smr-up-c4``). The user's own folder comes
before the program's, so that an edited copy replaces the original without touching it.
"""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import platformdirs

from engine.errors import ConfigError

OWN_FOLDER = "nudgeline"


def own_folder() -> Path:
    """Return the user's own folder of settings; it need not exist."""
    return platformdirs.user_config_path(OWN_FOLDER, appauthor=False)


def data_folder() -> Path:
    """Return the user's own folder of data (recordings, remembered answers); it need not exist."""
    return platformdirs.user_data_path("Nudgeline", appauthor=False)


def shipped_folder() -> Path:
    """Return ``configs/`` as it travels with the installed program."""
    return Path(str(resources.files("configs")))


def find_config(name: str) -> Path:
    """Return the file ``name`` (such as ``nudgeline.toml``): the user's own, or the program's.

    Raises ConfigError where neither has it.
    """
    folders = (own_folder(), shipped_folder())
    for folder in folders:
        if (folder / name).is_file():
            return folder / name
    places = " and ".join(str(folder) for folder in folders)
    raise ConfigError(
        f"configuration file is {name!r}, but a file in {places} is accepted; "
        "install the program again, or put the file there."
    )


def protocol_folders() -> tuple[Path, Path]:
    """Return where protocols are looked for, in order: the user's own, the program's."""
    return own_folder() / "protocols", shipped_folder() / "protocols"


def protocol_names() -> tuple[str, ...]:
    """Return every bare name that `find_protocol` accepts."""
    found = {path.stem for folder in protocol_folders() for path in folder.glob("*.toml")}
    return tuple(sorted(found))


def find_protocol(name_or_path: str | Path) -> Path:
    """Return the protocol's file: a path, or a bare name found in `protocol_folders`.

    What is a path (it has a folder in it, or ends in .toml and is there) is taken as one.
    ConfigError lists the names that exist.
    """
    asked = Path(name_or_path).expanduser()
    if asked.is_file():
        return asked
    bare = asked.name == str(name_or_path)
    if bare:
        name = asked.name.removesuffix(".toml")
        for folder in protocol_folders():
            if name and (folder / f"{name}.toml").is_file():
                return folder / f"{name}.toml"
    names = ", ".join(protocol_names()) or "none is there"
    raise ConfigError(
        f"protocol is {str(name_or_path)!r}, but the path of a TOML file or one of these names "
        f"is accepted: {names}; correct it, or put your own file into {protocol_folders()[0]}."
    )
