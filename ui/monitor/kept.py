"""What the pages of a visit read from the records; where these cannot be read, a sentence says so.

Nothing here is needed for training: without records every page starts empty.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from engine.errors import NudgelineError
from engine.practice.care import SensorSet
from engine.records.heads import keep_head, last_head
from engine.records.opening import Records, open_records
from engine.records.sensors import sensor_sets
from engine.records.sessions import last_session
from engine.session.last_time import LastTime

T = TypeVar("T")


class Kept:
    """The records at ``path``, opened when they are first asked for; ``say`` gets what is wrong."""

    def __init__(self, path: str, passphrase: str, say: Callable[[str], object]):
        self._path, self._passphrase, self._say = path, passphrase, say
        self._records: Records | None = None

    def _read(self, ask: Callable[[Records], T], nothing: T) -> T:
        if not self._path:
            return nothing
        try:
            if self._records is None:
                self._records = open_records(Path(self._path), self._passphrase)
            return ask(self._records)
        except NudgelineError as error:
            self._say(str(error))
            return nothing

    def head(self, client: str) -> dict[str, Any] | None:
        """The head of a client as it was measured last."""
        return self._read(lambda records: last_head(records, client), None) if client else None

    def keep_head(self, client: str, measures: Mapping[str, Any]) -> None:
        """Keep a head with the client, whether a recording runs or not."""
        if client:
            self._read(lambda records: keep_head(records, client, measures), None)

    def last_time(self, client: str, protocol: str, site: str) -> LastTime | None:
        """What a client's last session of a protocol ended with."""
        if not client:
            return None
        return self._read(lambda records: last_session(records, client, protocol, site), None)

    def sensors(self) -> tuple[SensorSet, ...]:
        """The sensor sets that are in use, the one worn last first."""
        return self._read(sensor_sets, ())
