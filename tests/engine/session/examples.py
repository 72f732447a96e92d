"""A protocol, a stream and samples that the tests of a session share."""

from __future__ import annotations

import numpy as np

from engine.chunk import Chunk, StreamInfo, chunk_of
from engine.protocol import Condition, Protocol, Rounds

PROTOCOL = Protocol(
    slug="smr_c4",
    name="SMR up at C4",
    site="C4",
    reference="A1",
    ground="A2",
    eyes="open",
    scale="peak",
    estimator="analytic-fir",
    delay_s=0.2,
    hold_s=0.5,
    quiet_s=1.0,
    zone=(10.0, 15.0),
    conditions=(
        Condition("theta", "theta", 4.0, 8.0, "below", 9.0, 0.24, 0.2),
        Condition("smr", "SMR", 12.0, 15.0, "above", 4.0, 0.24, 0.1),
    ),
    rounds=Rounds(count=2, length_s=10.0, rest_s=10.0),
)

INFO = StreamInfo(
    name="desk amplifier",
    kind="EEG",
    source_id="amp-1",
    uid="0001",
    hostname="here",
    ch_names=("C4", "A2"),
    units=("µV", "µV"),
    to_uv=(1.0, 1.0),
    nominal_sfreq=250.0,
    sfreq=250.0,
)


def noise(n_samples: int, seed: int = 0, dtype: str = "<f4") -> Chunk:
    """Return (n_samples, 2) of reproducible noise, 10 µV, with stamps from 100 s on."""
    raw = (10 * np.random.default_rng(seed).standard_normal((n_samples, 2))).astype(dtype)
    stamps = 100.0 + np.arange(n_samples) / INFO.sfreq
    return chunk_of(raw, INFO.to_uv, stamps, arrival_s=100.0 + n_samples / INFO.sfreq)


def rhythm(seconds: float, seed: int = 0, sfreq: float = INFO.sfreq) -> np.ndarray:
    """Return (n_samples, 2), µV: at C4 an SMR of 8 µV that comes and goes, in quiet noise."""
    rng = np.random.default_rng(seed)
    n = round(seconds * sfreq)
    t = np.arange(n) / sfreq
    there = np.sin(2 * np.pi * 0.11 * t + seed) > -0.5
    signal = rng.standard_normal((n, 2))
    signal[:, 0] += 8 * there * np.sin(2 * np.pi * 13.5 * t)
    return signal.astype("<f4")


def chunks_of(raw: np.ndarray, size: int = 10, first_s: float = 0.0) -> list[Chunk]:
    """Cut (n_samples, 2) into chunks that arrive as they are, 1 ms after their last stamp."""
    stamps = first_s + np.arange(raw.shape[0]) / INFO.sfreq
    return [
        chunk_of(
            raw[i : i + size], INFO.to_uv, stamps[i : i + size], stamps[i : i + size][-1] + 0.001
        )
        for i in range(0, raw.shape[0], size)
    ]
