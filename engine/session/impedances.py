"""The sensors' impedances, heard from the amplifier for as long as somebody watches the contact."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from engine.errors import NudgelineError


class Heard(Protocol):
    """What a reader returns: kΩ by sensor, the stream's name, what cannot be read of it."""

    @property
    def kohm(self) -> dict[str, float | None]: ...
    @property
    def stream(self) -> str: ...
    @property
    def remark(self) -> str: ...


class Reader(Protocol):
    """A stream of impedances (`engine.stream.impedance.ImpedanceInlet`)."""

    def start(self) -> None: ...
    def latest(self) -> Heard | None: ...
    @property
    def trouble(self) -> str: ...
    def let_go(self) -> None: ...
    def stop(self) -> None: ...


@dataclass(frozen=True)
class ImpedanceView:
    """kΩ by sensor (`engine.stream.ohms.sensor_of`); none where the amplifier sends nothing.

    ``remark`` says in a sentence why nothing comes, or what cannot be read; empty where all can.
    """

    kohm: dict[str, float | None]
    stream: str = ""
    remark: str = ""


class ImpedanceWatch:
    """Reads while it is told to; ``make`` opens a reader, None: nothing is looked for.

    It never waits: a reader that is let go ends by itself, and `close` waits for all of them.
    """

    def __init__(self, make: Callable[[], Reader] | None = None):
        self._make = make
        self._reader: Reader | None = None
        self._left: list[Reader] = []
        self._trouble = ""

    def watch(self, watched: bool) -> None:
        """Begin to read, or let the stream go."""
        if watched and self._reader is None and self._make is not None:
            try:
                reader = self._make()
                reader.start()
            except NudgelineError as error:
                self._trouble = str(error)
            else:
                self._reader, self._trouble = reader, ""
        elif not watched and self._reader is not None:
            self._reader.let_go()
            self._left.append(self._reader)
            self._reader = None

    @property
    def view(self) -> ImpedanceView | None:
        """The newest; None while nobody watches."""
        if self._reader is None:
            return ImpedanceView({}, remark=self._trouble) if self._trouble else None
        heard = self._reader.latest()
        if heard is None:
            return ImpedanceView({}, remark=self._reader.trouble)
        return ImpedanceView(heard.kohm, heard.stream, heard.remark)

    def close(self) -> None:
        """Let everything go, and wait until nothing of it is left."""
        self.watch(False)
        for reader in self._left:
            reader.stop()
        self._left = []
