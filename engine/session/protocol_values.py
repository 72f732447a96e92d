"""A protocol as the values of its TOML file, which is how a recording holds it."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from engine.protocol import Protocol


def values_of(protocol: Protocol) -> dict[str, Any]:
    """Return plain values from which `engine.protocol.protocol_from` builds the same protocol."""
    values = asdict(protocol)
    del values["slug"]
    low, high = values.pop("zone")
    values["zone"] = {"low": low, "high": high}
    values["condition"] = values.pop("conditions")
    return values
