"""Options that several verbs share, read into what the engine takes."""

from __future__ import annotations

import math
from dataclasses import replace

from engine.configs_folder import find_protocol
from engine.errors import bad_value
from engine.protocol import SCENES, Protocol, load_protocol, with_settings


def chosen_protocol(
    name: str, channel: str | None, changes: list[str] | None, scene: str | None = None
) -> Protocol:
    """Load a protocol, put it on ``--channel``, show ``--scene``, and apply every ``--set``."""
    protocol = load_protocol(find_protocol(name))
    shown = replace(protocol.client, scene=checked_scene(scene) or protocol.client.scene)
    protocol = replace(protocol, client=shown)
    if channel is not None:
        if not channel.strip():
            raise bad_value("--channel", channel, "a label such as C4", "name a channel")
        conditions = tuple(replace(c, channel="") for c in protocol.conditions)
        protocol = replace(protocol, site=channel, conditions=conditions)
    return with_settings(protocol, read_changes(changes or []))


def checked_scene(name: str | None) -> str | None:
    """Return ``--scene`` if there is such a scene; ConfigError otherwise."""
    if name is not None and name not in SCENES:
        accepted = ", ".join(SCENES[:-1]) + f" or {SCENES[-1]}"
        raise bad_value("--scene", name, accepted, "choose one of them")
    return name


def read_changes(
    texts: list[str],
    option: str = "--set",
    accepted: str = "key=number, such as theta.threshold=7.5",
) -> dict[str, float]:
    """Read ``theta.threshold=7.5`` and its like; ConfigError names what is wrong."""
    changes: dict[str, float] = {}
    for text in texts:
        key, sign, value = text.partition("=")
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if not sign or not math.isfinite(number):
            raise bad_value(option, text, accepted, "correct the option")
        changes[key.strip()] = number
    return changes


def checked_seconds(seconds: float | None) -> float | None:
    """Return ``--seconds`` if it is a length of time; ConfigError otherwise."""
    if seconds is not None and not (math.isfinite(seconds) and 1 <= seconds <= 86400):
        raise bad_value("--seconds", seconds, "1 to 86400 s", "choose a length in between")
    return seconds
