"""One LSL inlet with the habits that keep it honest: no silent recovery, short waits, raw stamps.

`Inlet` belongs to the thread that made it. Only the clock offset is measured in a thread of its
own, since that call may hang for as long as the other side is gone.
"""

from __future__ import annotations

import threading
from collections.abc import Callable

import numpy as np
import pylsl

from engine.errors import SourceError
from engine.stream.messages import ClockOffset
from engine.stream.metadata import Description, describe
from engine.stream.network import require_configured
from engine.stream.opening import Pulled

BUFFER_S = 120
MOST_SAMPLES = 1024
OPEN_S = 5.0

OFFSET_EVERY_S = 5.0
OFFSET_TRY_S = 0.25
OFFSET_UNKNOWN_S = 3.0


class InletLostError(Exception):
    """The outlet is gone; the inlet will never deliver again."""


class Inlet:
    """Opens a resolved stream: new inlet, open, full description, in that order.

    Raises SourceError where it does not open in time.
    """

    def __init__(self, info: pylsl.StreamInfo, timeout_s: float = OPEN_S):
        require_configured()
        name = info.name()
        self._inlet = pylsl.StreamInlet(info, max_buflen=BUFFER_S, recover=False)
        try:
            self._inlet.open_stream(timeout=timeout_s)
            self.stream: Description = describe(self._inlet.info(timeout=timeout_s).as_xml())
        except (TimeoutError, pylsl.util.LostError):
            raise SourceError(
                f"Stream {name!r} was found but did not open within {timeout_s:g} s, and it must "
                "take connections; check the firewall and the amplifier's program."
            ) from None

    def pull(self, timeout_s: float) -> list[Pulled]:
        """Wait for samples and return everything that is there, oldest first.

        Empty after ``timeout_s`` without a sample. Raises InletLostError when the outlet is gone.
        """
        pulls: list[Pulled] = []
        while True:
            try:
                raw, stamps = self._inlet.pull_chunk(
                    timeout=0.0 if pulls else timeout_s,
                    max_samples=MOST_SAMPLES,
                    min_samples=None if pulls else 1,
                    as_numpy=True,
                )
            except pylsl.util.LostError:
                if pulls:
                    return pulls
                raise InletLostError from None
            if stamps.size:
                raw.setflags(write=False)
                pulls.append(Pulled(raw, np.asarray(stamps), pylsl.local_clock()))
            if stamps.size < MOST_SAMPLES:
                return pulls

    def offset(self, timeout_s: float) -> float | None:
        """Measure the clock offset; None where it stays unknown."""
        try:
            return float(self._inlet.time_correction(timeout_s))
        except (TimeoutError, pylsl.util.LostError, RuntimeError):
            return None

    def close(self) -> None:
        """Close the stream; no other call may be under way."""
        self._inlet.close_stream()
        del self._inlet


class ClockOffsets:
    """Measures an inlet's clock offset every few seconds, in its own thread."""

    def __init__(self, inlet: Inlet, say: Callable[[ClockOffset], None]):
        self._inlet = inlet
        self._say = say
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="clock offsets", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End the thread; it may be in a call of `OFFSET_TRY_S`."""
        self._stop.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._stop.is_set():
            offset_s = None
            tries = round(OFFSET_UNKNOWN_S / OFFSET_TRY_S)
            while offset_s is None and tries and not self._stop.is_set():
                offset_s = self._inlet.offset(OFFSET_TRY_S)
                tries -= 1
            if not self._stop.is_set():
                self._say(ClockOffset(offset_s, pylsl.local_clock()))
            self._stop.wait(OFFSET_EVERY_S)
