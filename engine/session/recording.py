"""The recording of a session: everything is on the disk half a second after it happened.

Three activities share it. The session's thread hands over samples, ticks and events and never
waits for the disk; a lossless queue carries them; one thread writes, and commits what belongs
together in one step. When the disk fails, the session hears of it at once, the thread keeps
trying, and what is already stored stays whole.
"""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Chunk, StreamInfo
from engine.errors import RecordError
from engine.events import Event, Tick
from engine.protocol import Protocol
from engine.session import recording_tables as tables
from engine.session.messages import Remark
from engine.session.protocol_values import values_of
from engine.session.recording_faults import sentence
from engine.session.recording_rows import (
    REASONS,
    STATES,
    Anchor,
    ClockMeasured,
    Filter,
    Happened,
    Item,
    Meta,
    Rows,
    Samples,
    rows_of,
    to_json,
)

COMMIT_S = 0.25
"""Time from the first thing handed over to the commit that holds it."""

RETRY_S = 1.0
"""Time between attempts while the disk fails."""

CLOSE_S = 5.0
"""For how long the end of a session waits for a disk that fails."""

MOST_ITEMS = 5000
"""Things in one commit: after a long fault the rest follows in commits of its own."""


class Recording:
    """One session's file. All methods but `close` return at once."""

    def __init__(
        self,
        folder: Path,
        stem: str,
        *,
        passphrase: str = "",
        utc: Callable[[], datetime] | None = None,
    ):
        tables.check_sqlite()
        self._passphrase = passphrase
        self._utc = utc or (lambda: datetime.now(UTC))
        self._folder, self._stem = folder, stem
        self._path: Path | None = None
        self._queue: queue.SimpleQueue[Item | threading.Event] = queue.SimpleQueue()
        self._remarks: queue.SimpleQueue[Remark] = queue.SimpleQueue()
        self._n_events = 0
        self._saved = (0, 0)
        self._fault = ""
        self._closing = threading.Event()
        self._abandon_at = float("inf")
        self._thread = threading.Thread(target=self._run, name="recording", daemon=True)
        self._thread.start()

    # ---- what the session's thread calls ----------------------------------------------------

    def begin(self, protocol: Protocol, info: StreamInfo, program: str, plan: Any) -> None:
        """Write what is needed to score the session again; ``plan`` holds plain values."""
        self.meta("program", program)
        self.meta("slug", protocol.slug)
        self.meta("protocol", values_of(protocol))
        self.meta("stream", asdict(info))
        self.meta("plan", plan)
        self.meta("states", [state.name for state in STATES])
        self.meta("reasons", [reason.name for reason in REASONS])

    def meta(self, key: str, value: Any) -> None:
        """Write one value of plain JSON types, in place of an earlier one."""
        self._queue.put(Meta(key, to_json(value)))

    def anchor(self, local_clock_s: float) -> None:
        """Note the time of day beside the local LSL clock, seconds."""
        self._queue.put(Anchor(local_clock_s, self._now()))

    def clock_offset(self, local_clock_s: float, offset_s: float | None) -> None:
        """Note what the remote clock lacks to ours, as measured; None while it is unknown."""
        self._queue.put(ClockMeasured(local_clock_s, offset_s))

    def samples(self, first_sample: int, chunk: Chunk) -> None:
        """Write a chunk as received; ``first_sample`` counts from the session's first."""
        if chunk.n_samples:
            self._queue.put(Samples(first_sample, chunk))

    def ticks(self, *ticks: Tick) -> None:
        """Write ticks, in order."""
        for tick in ticks:
            self._queue.put(tick)

    def event(self, event: Event) -> None:
        """Write an event; its order among the events is the order of the calls."""
        self._queue.put(Happened.of(self._n_events, event, self._now()))
        self._n_events += 1

    def taps(self, name: str, taps: NDArray[np.generic]) -> None:
        """Write the taps of one filter."""
        self._queue.put(Filter(name, taps))

    # ---- what is true of it -------------------------------------------------------------------

    @property
    def stem(self) -> str:
        """The name of the file without its suffix, which is the session's ID."""
        return self._path.stem if self._path is not None else self._stem

    @property
    def path(self) -> Path | None:
        """The file, None until it could be made."""
        return self._path

    @property
    def saved(self) -> tuple[int, int]:
        """(samples, events) that are on the disk, counted from the first."""
        return self._saved

    @property
    def fault(self) -> str:
        """What is wrong, one sentence; empty while all is well."""
        if not self._thread.is_alive() and not self._closing.is_set():
            return (
                f"The recording {self._path or self._stem} has stopped by a fault of the program; "
                "what is saved is whole, end this session and start a new one."
            )
        return self._fault

    def take_remarks(self) -> list[Remark]:
        """Return what the operator has to hear, each remark once."""
        remarks = []
        while not self._remarks.empty():
            remarks.append(self._remarks.get())
        return remarks

    def flush(self, timeout_s: float = 5.0) -> bool:
        """Wait until all that was handed over is on the disk; False when it could not be."""
        done = threading.Event()
        self._queue.put(done)
        return done.wait(timeout_s)

    def close(self, timeout_s: float | None = None) -> None:
        """Write the rest and close the file; RecordError when some of it could not be written."""
        if self._closing.is_set():
            return
        timeout_s = CLOSE_S if timeout_s is None else timeout_s
        self._abandon_at = time.monotonic() + timeout_s
        self._closing.set()
        self._queue.put(threading.Event())
        self._thread.join(timeout_s + 5)
        if self._fault:
            raise RecordError(self._fault)
        if self._thread.is_alive():
            raise RecordError(
                f"The disk has not answered for {timeout_s:g} s, but the recording {self._path} "
                "is to be closed; what was saved before is whole, check the disk."
            )
        if self._queue.qsize():
            raise RecordError(
                f"The recording {self._path} lacks the last part of the session, but the whole is "
                "needed; what was saved before is whole, report this as a fault of the program."
            )

    def _now(self) -> str:
        return self._utc().isoformat(timespec="microseconds")

    # ---- the thread that writes -----------------------------------------------------------------

    def _run(self) -> None:
        connection: tables.Connection | None = None
        over = False
        while not over:
            items, waiting, over = self._collect()
            rows = rows_of(items)
            while rows.tables:
                try:
                    connection = self._ready(connection)
                    self._write(connection, rows)
                    break
                except (tables.Failure, OSError, RecordError) as error:
                    self._failed(error)
                    _drop(connection)
                    connection = None
                    if time.monotonic() > self._abandon_at:
                        return
                    if self._closing.wait(RETRY_S):
                        time.sleep(0.1)
            for done in waiting:
                done.set()
        if connection is not None:
            try:
                tables.close(connection)
            except tables.Failure as error:
                self._failed(error)

    def _collect(self) -> tuple[list[Item], list[threading.Event], bool]:
        """Return what to commit together, who waits for it, and whether it is the last."""
        items: list[Item] = []
        deadline = float("inf")
        while len(items) < MOST_ITEMS:
            try:
                timeout = None if not items else max(0.0, deadline - time.monotonic())
                item = self._queue.get(timeout=timeout)
            except queue.Empty:
                break
            if isinstance(item, threading.Event):
                return items, [item], self._closing.is_set() and self._queue.empty()
            if not items:
                deadline = time.monotonic() + COMMIT_S
            items.append(item)
        return items, [], False

    def _ready(self, connection: tables.Connection | None) -> tables.Connection:
        """Return an open connection to a file that is really there."""
        if self._path is None:
            self._path = tables.create_file(self._folder, self._stem)
        if connection is None:
            return tables.connect(self._path, self._passphrase)
        if not self._path.exists():
            lost, self._path = self._path, tables.copy(connection, self._folder, self._stem)
            _drop(connection)
            self._remarks.put(
                Remark(
                    f"The recording {lost} was moved or deleted while it ran; a whole copy goes on "
                    f"as {self._path}, leave it in its place.",
                    grave=True,
                )
            )
            return tables.connect(self._path, self._passphrase)
        return connection

    def _write(self, connection: tables.Connection, rows: Rows) -> None:
        connection.execute("BEGIN IMMEDIATE")
        for statement, values in rows.statements:
            connection.executemany(statement, values)
        connection.execute("COMMIT")
        self._saved = (self._saved[0] + rows.n_samples, self._saved[1] + rows.n_events)
        if self._fault:
            self._fault = ""
            self._remarks.put(Remark("The recording is being written again; nothing was lost."))

    def _failed(self, error: Exception) -> None:
        own = isinstance(error, RecordError)
        fault = str(error) if own else sentence(self._path or self._folder, error)
        if fault != self._fault:
            self._fault = fault
            self._remarks.put(Remark(fault, grave=True))


def _drop(connection: tables.Connection | None) -> None:
    """Let go of a connection after a fault; the next one rolls the unfinished commit back."""
    if connection is not None:
        with suppress(tables.Failure):
            connection.close()
