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
