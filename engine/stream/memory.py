"""What the operator answered about an amplifier, so that it is asked once and not every day.

One small JSON file in the user's data folder, keyed by source_id. An amplifier without a
source_id cannot be known again and is asked about each time.
"""

from __future__ import annotations

import json
import os
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from engine.configs_folder import data_folder


@dataclass(frozen=True)
class Remembered:
    """Answers for one amplifier; empty where nothing was asked.

    They hold only while the stream has ``n_channels`` channels.
    """

    n_channels: int
    labels: tuple[str, ...] = ()
    unit: str = ""
    accepted_sfreq: float = 0.0


class AmplifierMemory:
    """Reads and writes the file; what cannot be read counts as not remembered."""

    def __init__(self, path: Path | None = None):
        self.path = path if path is not None else data_folder() / "amplifiers.json"

    def recall(self, source_id: str, n_channels: int) -> Remembered:
        """Return the answers for an amplifier, empty where there are none."""
        found = _from_json(self._read().get(source_id)) if source_id else None
        if found is None or found.n_channels != n_channels:
            return Remembered(n_channels)
        return found

    def remember(self, source_id: str, answers: Remembered) -> None:
        """Write the answers for an amplifier, in the place of earlier ones; OSError may come."""
        if not source_id:
            return
        everything = self._read()
        everything[source_id] = asdict(answers)
        self.path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        aside = self.path.with_suffix(".new")
        with open(aside, "w", encoding="utf-8") as file:
            json.dump(everything, file, indent=1, ensure_ascii=False, sort_keys=True)
            file.flush()
            os.fsync(file.fileno())
        aside.replace(self.path)

    def _read(self) -> dict[str, Any]:
        try:
            values = json.loads(self.path.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return values if isinstance(values, dict) else {}


def _from_json(values: Any) -> Remembered | None:
    try:
        return Remembered(
            n_channels=int(values["n_channels"]),
            labels=tuple(str(label) for label in values["labels"]),
            unit=str(values["unit"]),
            accepted_sfreq=float(values["accepted_sfreq"]),
        )
    except (KeyError, TypeError, ValueError):
        return None
