"""What a session hands to its recording, turned into rows of the tables."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Chunk
from engine.events import Event, Reason, State, Tick, to_record

STATES = tuple(State)
REASONS = tuple(Reason)


def to_json(value: Any) -> str:
    """Write plain values, and numbers of numpy, as JSON."""
    return json.dumps(value, ensure_ascii=False, default=lambda item: item.tolist())


@dataclass(frozen=True, eq=False)
class Samples:
    first_sample: int
    chunk: Chunk


@dataclass(frozen=True)
class Happened:
    position: int
    sample: int
    kind: str
    payload: str
    utc: str

    @classmethod
    def of(cls, position: int, event: Event, utc: str) -> Happened:
        values = to_record(event)
        kind = values.pop("kind")
        return cls(position, event.sample, kind, to_json(values), utc)


@dataclass(frozen=True)
class Anchor:
    local_clock_s: float
    utc: str


@dataclass(frozen=True)
class ClockMeasured:
    local_clock_s: float
    offset_s: float | None


@dataclass(frozen=True)
class Meta:
    key: str
    text: str


@dataclass(frozen=True, eq=False)
class Filter:
    name: str
    taps: NDArray[np.generic]


Item = Samples | Happened | Anchor | ClockMeasured | Meta | Filter | Tick

_INSERT = {
    "meta": "INSERT OR REPLACE INTO meta VALUES (?, ?)",
    "anchor": "INSERT OR REPLACE INTO anchor VALUES (?, ?)",
    "clock_offset": "INSERT OR REPLACE INTO clock_offset VALUES (?, ?)",
    "filter": "INSERT OR REPLACE INTO filter VALUES (?, ?, ?, ?)",
    "block": "INSERT OR REPLACE INTO block VALUES (?, ?, ?, ?, ?, ?, ?)",
    "event": "INSERT OR REPLACE INTO event VALUES (?, ?, ?, ?, ?)",
    "ticks": "INSERT OR REPLACE INTO ticks VALUES (?, ?, ?, ?, ?, ?)",
}


@dataclass
class Rows:
    """Rows of one commit. They replace themselves, so a commit that is repeated does no harm."""

    tables: dict[str, list[tuple[Any, ...]]] = field(default_factory=dict)
    n_samples: int = 0
    n_events: int = 0

    @property
    def statements(self) -> Iterable[tuple[str, list[tuple[Any, ...]]]]:
        """(SQL, rows) for every table that gets any."""
        return [(_INSERT[table], rows) for table, rows in self.tables.items()]

    def add(self, table: str, *row: Any) -> None:
        self.tables.setdefault(table, []).append(row)


def rows_of(items: Sequence[Item]) -> Rows:
    """Sort items into rows; chunks that belong together become one block, ticks one row."""
    rows = Rows()
    for group in _joined([item for item in items if isinstance(item, Samples)]):
        rows.add("block", *_block(group))
        rows.n_samples += sum(item.chunk.n_samples for item in group)
    ticks = [item for item in items if isinstance(item, Tick)]
    if ticks:
        rows.add("ticks", *_ticks(ticks))
    for item in items:
        if isinstance(item, Happened):
            rows.add("event", item.position, item.sample, item.kind, item.payload, item.utc)
            rows.n_events += 1
        elif isinstance(item, Anchor):
            rows.add("anchor", item.local_clock_s, item.utc)
        elif isinstance(item, ClockMeasured):
            rows.add("clock_offset", item.local_clock_s, item.offset_s)
        elif isinstance(item, Meta):
            rows.add("meta", item.key, item.text)
        elif isinstance(item, Filter):
            taps = np.ascontiguousarray(item.taps)
            rows.add("filter", item.name, taps.dtype.str, json.dumps(taps.shape), taps.tobytes())
    return rows


def _joined(samples: Sequence[Samples]) -> Iterable[list[Samples]]:
    """Group consecutive chunks of one type that have stamps, or that have none."""
    groups: list[list[Samples]] = []
    for item in samples:
        last = groups[-1][-1].chunk if groups else None
        chunk = item.chunk
        if (
            last is not None
            and last.raw.dtype == chunk.raw.dtype
            and bool(last.stamps_s.size) == bool(chunk.stamps_s.size)
        ):
            groups[-1].append(item)
        else:
            groups.append([item])
    return groups


def _block(group: list[Samples]) -> tuple[Any, ...]:
    chunks = [item.chunk for item in group]
    return (
        group[0].first_sample,
        sum(chunk.n_samples for chunk in chunks),
        chunks[0].raw.dtype.str,
        b"".join(np.ascontiguousarray(chunk.raw).tobytes() for chunk in chunks),
        b"".join(np.asarray(chunk.stamps_s, dtype="<f8").tobytes() for chunk in chunks),
        np.array([chunk.n_samples for chunk in chunks], dtype="<i8").tobytes(),
        np.array([chunk.arrival_s for chunk in chunks], dtype="<f8").tobytes(),
    )


def _ticks(ticks: list[Tick]) -> tuple[Any, ...]:
    bits = [sum(1 << REASONS.index(reason) for reason in tick.reasons) for tick in ticks]
    return (
        ticks[0].tick,
        len(ticks),
        np.array([tick.sample for tick in ticks], dtype="<i8").tobytes(),
        np.array([tick.fast_uv for tick in ticks], dtype="<f8").tobytes(),
        np.array([STATES.index(tick.state) for tick in ticks], dtype="u1").tobytes(),
        np.array(bits, dtype="<u2").tobytes(),
    )
