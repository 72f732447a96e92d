"""Samples on their way in, and the description of the stream they come from."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

MICROVOLTS_PER: dict[str, float] = {
    "v": 1e6,
    "volt": 1e6,
    "volts": 1e6,
    "mv": 1e3,
    "millivolt": 1e3,
    "millivolts": 1e3,
    "uv": 1.0,
    "µv": 1.0,  # micro sign, U+00B5
    "μv": 1.0,  # Greek mu, U+03BC
    "microvolt": 1.0,
    "microvolts": 1.0,
    "nv": 1e-3,
    "nanovolt": 1e-3,
    "nanovolts": 1e-3,
}
"""Factor from a unit, in lower case, to microvolts."""


@dataclass(frozen=True)
class StreamInfo:
    """What is known of a stream once it is opened and every question about it is answered.

    Attributes
    ----------
    ch_names : labels as the stream writes them, one a channel, no two alike.
    to_uv : factor to microvolts, one a channel.
    nominal_sfreq, sfreq : Hz. ``sfreq`` is the rate the filters are designed at: the nominal
        one, or the measured one that the operator accepted.
    """

    name: str
    kind: str
    source_id: str
    uid: str
    hostname: str
    ch_names: tuple[str, ...]
    units: tuple[str, ...]
    to_uv: tuple[float, ...]
    nominal_sfreq: float
    sfreq: float
    channel_format: str = "float32"
    reference: str = ""
    manufacturer: str = ""


@dataclass(frozen=True, eq=False)
class Chunk:
    """Consecutive samples of one segment.

    Attributes
    ----------
    raw : (n_samples, n_channels), the stream's own unit and type, as received.
    samples_uv : (n_samples, n_channels), microvolts, float64, read-only.
    stamps_s : (n_samples,), the remote time stamps, never corrected; empty when unknown.
    arrival_s : local LSL clock when the chunk was pulled; 0 when read from a file.
    """

    raw: NDArray[np.generic]
    samples_uv: Floats
    stamps_s: Floats = field(default_factory=lambda: np.empty(0))
    arrival_s: float = 0.0

    @property
    def n_samples(self) -> int:
        return int(self.samples_uv.shape[0])


def to_microvolts(raw: NDArray[np.generic], factors: tuple[float, ...]) -> Floats:
    """Convert (n_samples, n_channels) to read-only float64 microvolts.

    The one place where units are converted: live chunks, files and recordings all pass here,
    so that a recording scored later holds the same bits as the live stream.
    """
    samples = np.asarray(raw, dtype=np.float64) * np.asarray(factors, dtype=np.float64)
    samples.setflags(write=False)
    return samples


def chunk_of(
    raw: NDArray[np.generic],
    factors: tuple[float, ...],
    stamps_s: Floats | None = None,
    arrival_s: float = 0.0,
) -> Chunk:
    """Build a chunk from what a source delivered, (n_samples, n_channels) in its own unit."""
    stamps = np.empty(0) if stamps_s is None else np.asarray(stamps_s, dtype=np.float64)
    return Chunk(raw, to_microvolts(raw, factors), stamps, arrival_s)
