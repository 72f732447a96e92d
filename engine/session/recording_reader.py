"""Reading a recording back: what the pipeline was fed, in order, and what it gave.

A recording that was cut off by a kill or a power cut reads as far as it was saved.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Chunk, StreamInfo, chunk_of
from engine.errors import ConfigError, RecordError
from engine.events import Event, Input, PointEarned, Reason, State, from_record
from engine.protocol import Protocol, protocol_from
from engine.session import recording_tables as tables
from engine.session.split import split


@dataclass(frozen=True, eq=False)
class LoggedTicks:
    """Consecutive ticks: ``samples`` (n_ticks,), ``fast_uv`` (n_ticks, n_conditions)."""

    first_tick: int
    samples: NDArray[np.int64]
    fast_uv: NDArray[np.float64]
    states: tuple[State, ...]
    reasons: tuple[tuple[Reason, ...], ...]


@dataclass(frozen=True, eq=False)
class TickArrays:
    """Every tick of a recording at once.

    Attributes
    ----------
    ticks, samples : (n_ticks,), number, and index of the tick's last sample.
    fast_uv : (n_ticks, n_conditions), before averaging.
    states : (n_ticks,), places in ``tuple(State)``.
    reasons : (n_ticks,), a bit each, the lowest for the first of ``tuple(Reason)``.
    """

    ticks: NDArray[np.int64]
    samples: NDArray[np.int64]
    fast_uv: NDArray[np.float64]
    states: NDArray[np.int64]
    reasons: NDArray[np.int64]


@dataclass(frozen=True)
class RecordedSession:
    """A recording. What is long is read from the file anew at every call.

    Attributes
    ----------
    program : version of the program that recorded; plan : the pipeline's times, plain values.
    ended : how the session ended; empty when it was cut off.
    anchors : (local LSL clock, UTC as ISO 8601) read together.
    clock_offsets : (local LSL clock, offset in seconds or None) as measured.
    """

    path: Path
    protocol: Protocol
    info: StreamInfo
    program: str
    plan: dict[str, Any]
    ended: str
    anchors: tuple[tuple[float, str], ...]
    clock_offsets: tuple[tuple[float, float | None], ...]
    n_samples: int
    passphrase: str = field(default="", repr=False)

    def inputs(self) -> Iterator[Chunk | Input]:
        """Yield what the pipeline was fed: the same samples, and inputs at the same positions.

        Chunks are joined where nothing came between them, which changes no point.
        """
        waiting = [event for event in self.events() if isinstance(event, Input)]
        waiting.reverse()
        sample = 0
        for first, chunk in self._blocks():
            if first != sample:
                raise _damaged(self.path, f"samples {sample} to {first} are not there")
            while chunk.n_samples:
                while waiting and waiting[-1].sample <= sample:
                    yield waiting.pop()
                n = min(chunk.n_samples, waiting[-1].sample - sample) if waiting else None
                piece, chunk = split(chunk, chunk.n_samples if n is None else n)
                yield piece
                sample += piece.n_samples
        yield from reversed(waiting)

    def chunks(self) -> Iterator[Chunk]:
        """Yield the chunks as they arrived, each with its own arrival."""
        query = "SELECT chunk_sizes, arrivals_s FROM block ORDER BY first_sample"
        for (_, chunk), (sizes, arrivals) in zip(self._blocks(), self._read(query), strict=True):
            for n, arrival in zip(
                np.frombuffer(sizes, "<i8"), np.frombuffer(arrivals, "<f8"), strict=True
            ):
                piece, chunk = split(chunk, int(n))
                yield Chunk(piece.raw, piece.samples_uv, piece.stamps_s, float(arrival))

    def events(self) -> Iterator[Event]:
        """Yield every event, in the order in which it happened."""
        query = "SELECT kind, payload FROM event ORDER BY position"
        for kind, payload in self._read(query):
            try:
                yield from_record({"kind": kind, **json.loads(payload)})
            except (ValueError, KeyError, TypeError) as error:
                raise _damaged(self.path, f"an event of kind {kind} ({error})") from None

    def points(self) -> tuple[PointEarned, ...]:
        """Return the points as they were given."""
        return tuple(event for event in self.events() if isinstance(event, PointEarned))

    def ticks(self) -> Iterator[LoggedTicks]:
        """Yield the ticks as they were, some at a time."""
        states = [State[name] for name in self._listed("states")]
        reasons = [Reason[name] for name in self._listed("reasons")]
        for first, samples, fast_uv, codes, bits in self._tick_rows():
            try:
                ticks = LoggedTicks(
                    first,
                    samples,
                    fast_uv,
                    tuple(states[code] for code in codes.tolist()),
                    tuple(
                        tuple(reason for place, reason in enumerate(reasons) if mask >> place & 1)
                        for mask in bits.tolist()
                    ),
                )
            except IndexError as error:
                raise _damaged(self.path, f"the ticks from {first} on ({error})") from None
            yield ticks

    def tick_arrays(self) -> TickArrays:
        """Return all ticks at once: quick, where `ticks` is for one after the other."""
        n = len(self.protocol.conditions)
        rows = [*self._tick_rows()]
        codes, bits = (
            np.concatenate([np.empty(0, dtype=np.int64), *(row[column] for row in rows)])
            for column in (3, 4)
        )
        states = [list(State).index(State[name]) for name in self._listed("states")]
        reasons = [list(Reason).index(Reason[name]) for name in self._listed("reasons")]
        if codes.max(initial=0) >= len(states):
            raise _damaged(self.path, "the state of a tick")
        numbers = [np.arange(row[0], row[0] + row[1].shape[0]) for row in rows]
        return TickArrays(
            ticks=np.concatenate([np.empty(0, dtype=np.int64), *numbers]),
            samples=np.concatenate([np.empty(0, dtype=np.int64), *(row[1] for row in rows)]),
            fast_uv=np.concatenate([np.empty((0, n)), *(row[2] for row in rows)]),
            states=np.array(states, dtype=np.int64)[codes],
            reasons=np.array(
                sum((bits >> place & 1) << to for place, to in enumerate(reasons)), dtype=np.int64
            ),
        )

    def _read(self, query: str, *values: str) -> Iterator[tuple[Any, ...]]:
        return _rows(self.path, self.passphrase, query, *values)

    def _tick_rows(self) -> Iterator[tuple[int, Any, Any, Any, Any]]:
        """Yield (first tick, samples, fast_uv, codes of states, bits of reasons)."""
        query = "SELECT first_tick, n_ticks, samples, fast_uv, states, reasons FROM ticks"
        for first, n, samples, fast, codes, bits in _rows(
            self.path, self.passphrase, f"{query} ORDER BY 1"
        ):
            try:
                row = (
                    first,
                    np.frombuffer(samples, "<i8"),
                    np.frombuffer(fast, "<f8").reshape(n, -1),
                    np.frombuffer(codes, "u1"),
                    np.frombuffer(bits, "<u2"),
                )
                if any(len(part) != n for part in row[1:]):
                    raise ValueError(f"{n} ticks are announced")
            except (ValueError, TypeError) as error:
                raise _damaged(self.path, f"the ticks from {first} on ({error})") from None
            yield row

    def taps(self) -> dict[str, NDArray[np.generic]]:
        """Return the taps of every filter as it ran."""
        query = "SELECT name, dtype, shape, taps FROM filter"
        return {
            name: np.frombuffer(taps, dtype).reshape(json.loads(shape))
            for name, dtype, shape, taps in self._read(query)
        }

    def _listed(self, key: str) -> list[str]:
        ((text,),) = self._read("SELECT value FROM meta WHERE key = ?", key)
        names: list[str] = json.loads(text)
        return names

    def _blocks(self) -> Iterator[tuple[int, Chunk]]:
        """Yield (first sample, samples) of every block; arrival is that of the last chunk."""
        query = "SELECT first_sample, n_samples, dtype, raw, stamps_s, arrivals_s FROM block"
        for first, n, dtype, raw, stamps, arrivals in _rows(
            self.path, self.passphrase, f"{query} ORDER BY 1"
        ):
            try:
                values = np.frombuffer(raw, dtype).reshape(n, len(self.info.ch_names))
                arrival = float(np.frombuffer(arrivals, "<f8")[-1])
                yield (
                    first,
                    chunk_of(values, self.info.to_uv, np.frombuffer(stamps, "<f8"), arrival),
                )
            except (ValueError, TypeError, IndexError) as error:
                raise _damaged(self.path, f"the samples from {first} on ({error})") from None


def is_session(path: Path) -> bool:
    """Tell whether a file is a recording: by how it begins, or by its name where encrypted."""
    try:
        return path.is_file() and (path.suffix == ".sqlite" or not tables.encrypted(path))
    except OSError:
        return False


def read_session(path: Path, passphrase: str = "") -> RecordedSession:
    """Read the head of a recording; RecordError when it is none, damaged, or still running.

    ``passphrase`` is what it was encrypted with, empty where it was not.
    """
    if not path.is_file():
        raise RecordError(
            f"The recording {path} does not exist, but a recorded session is needed; "
            "check the name."
        )
    _finish(path, passphrase)
    read = partial(_rows, path, passphrase)
    ((version,),) = read("SELECT max(version) FROM schema")
    if version != tables.SCHEMA_VERSION:
        raise RecordError(
            f"The recording {path} has schema version {version}, but {tables.SCHEMA_VERSION} is "
            "accepted; read it with the program that wrote it, or a later one."
        )
    meta = {key: json.loads(value) for key, value in read("SELECT key, value FROM meta")}
    if not meta:
        raise RecordError(
            f"The recording {path} is empty, but a session is needed; its session was cut off "
            "before the first half second, leave it out."
        )
    ((n_samples,),) = read("SELECT max(first_sample + n_samples) FROM block")
    try:
        stream: dict[str, Any] = {
            k: tuple(v) if isinstance(v, list) else v for k, v in meta["stream"].items()
        }
        return RecordedSession(
            path=path,
            protocol=protocol_from(meta["protocol"], meta["slug"], path.name),
            info=StreamInfo(**stream),
            program=meta["program"],
            plan=meta["plan"],
            ended=meta.get("ended", ""),
            anchors=tuple(read("SELECT local_clock_s, utc FROM anchor ORDER BY 1")),
            clock_offsets=tuple(read("SELECT * FROM clock_offset ORDER BY 1")),
            n_samples=n_samples or 0,
            passphrase=passphrase,
        )
    except (KeyError, TypeError, ConfigError) as error:
        raise _damaged(path, f"what describes the session ({error})") from None


def _finish(path: Path, passphrase: str) -> None:
    """Fold in what a session that was cut off left in its write-ahead log."""
    if not Path(f"{path}-wal").exists():
        return
    try:
        tables.close(tables.connect(path, passphrase))
    except tables.Failure as error:
        if "locked" in str(error):
            raise RecordError(
                f"The recording {path} is still being written, but a finished one is needed; "
                "end its session first."
            ) from None
        raise _damaged(path, f"its end ({error})") from None


def _rows(path: Path, passphrase: str, query: str, *values: str) -> Iterator[tuple[Any, ...]]:
    try:
        with closing(tables.connect(path, passphrase, read_only=True)) as connection:
            yield from connection.execute(query, values)
    except tables.Failure as error:
        raise _damaged(path, str(error)) from None


def _damaged(path: Path, what: str) -> RecordError:
    return RecordError(
        f"The recording {path} cannot be read ({what}), but a whole one is needed; "
        "use a copy of it, or leave this session out."
    )
