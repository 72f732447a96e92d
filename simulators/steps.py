"""What an outlet is to do, and when: a stream as a script that `simulators.outlet` plays.

Steps hold no clock and no LSL, so that a whole stream, faults and all, can be read and tested
in no time. ``at_s`` counts real seconds from the moment the stream starts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.chunk import MICROVOLTS_PER, Floats
from simulators.blocks import Signal

CHUNK_S = 0.02


@dataclass(frozen=True)
class Described:
    """What an outlet says of itself; without ``labels`` or ``units`` it says nothing of them."""

    name: str
    source_id: str
    sfreq: float
    ch_names: tuple[str, ...]
    units: tuple[str, ...]
    kind: str = "EEG"
    labels: bool = True
    channel_format: str = "float32"
    manufacturer: str = ""
    reference: str = ""


@dataclass(frozen=True)
class Open:
    """Open an outlet under ``key``; opened again, it has a new uid."""

    at_s: float
    described: Described
    key: str = "main"


@dataclass(frozen=True, eq=False)
class Push:
    """Send (n_samples, n_channels), in the unit and format described.

    ``stamps_s`` holds a stamp for each sample, seconds from the start. Where it is None the last
    sample is stamped when it is sent, and LSL spaces those before it at the rate described.
    ``shift_s`` is added to either.
    """

    at_s: float
    samples: NDArray[np.generic]
    stamps_s: Floats | None = None
    shift_s: float = 0.0
    key: str = "main"


@dataclass(frozen=True)
class Close:
    """Close the outlet under ``key``."""

    at_s: float
    key: str = "main"


Step = Open | Push | Close


def live_steps(
    signal: Signal, described: Described, seconds: float | None = None
) -> Iterator[Step]:
    """Yield a healthy stream: whole samples every 20 ms, for ``seconds`` or for ever.

    Each push holds exactly the samples that are due by then, so that the rate never drifts.
    """
    factors = np.array([1.0 / MICROVOLTS_PER.get(unit.lower(), 1.0) for unit in described.units])
    yield Open(0.0, described)
    tick, sent = 0, 0
    while seconds is None or tick * CHUNK_S < seconds:
        tick += 1
        due = int(tick * CHUNK_S * signal.sfreq + 1e-6)
        if due > sent:
            yield Push(tick * CHUNK_S, signal.read(sent, due - sent) * factors)
            sent = due
    yield Close(tick * CHUNK_S)
