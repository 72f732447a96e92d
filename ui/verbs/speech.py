"""What the command line says: one JSON object on standard output, sentences on standard error."""

from __future__ import annotations

import json
import math
import sys
from typing import Any


def say(text: str) -> None:
    """Write a sentence for the operator to standard error."""
    print(text, file=sys.stderr, flush=True)


def plain(value: Any) -> Any:
    """Return the value with every undefined number as None, fit for JSON."""
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return value


def print_json(values: dict[str, Any]) -> None:
    """Print one JSON object on standard output."""
    print(json.dumps(plain(values), ensure_ascii=False), flush=True)


def utf8_streams() -> None:
    """Make both standard streams UTF-8, whatever the system's code page."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
