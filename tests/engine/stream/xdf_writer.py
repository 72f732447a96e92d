"""A small writer of XDF files for tests, after the XDF 1.0 specification (sccn/xdf, wiki)."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Floats

FORMATS = {"float32": "<f4", "double64": "<f8", "int16": "<i2", "int32": "<i4"}


@dataclass(frozen=True, eq=False)
class XdfStream:
    """One stream: samples (n, n_channels) and a raw stamp for each; clock (time, offset) pairs."""

    name: str
    samples: NDArray[np.generic]
    stamps_s: Floats
    nominal_sfreq: float = 250.0
    kind: str = "EEG"
    channel_format: str = "float32"
    labels: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    clock: tuple[tuple[float, float], ...] = ()


def write_xdf(path: Path, *streams: XdfStream) -> Path:
    """Write every stream in chunks of at most 100 samples."""
    parts = [b"XDF:", _chunk(1, b'<?xml version="1.0"?><info><version>1.0</version></info>')]
    for number, stream in enumerate(streams, start=1):
        parts.append(_chunk(2, struct.pack("<I", number) + _header(stream).encode()))
        for first in range(0, len(stream.samples), 100):
            parts.append(_chunk(3, struct.pack("<I", number) + _samples(stream, first)))
        for time_s, offset_s in stream.clock:
            parts.append(_chunk(4, struct.pack("<Idd", number, time_s, offset_s)))
        footer = b"<info><sample_count>%d</sample_count></info>" % len(stream.samples)
        parts.append(_chunk(6, struct.pack("<I", number) + footer))
    path.write_bytes(b"".join(parts))
    return path


def _chunk(tag: int, content: bytes) -> bytes:
    return b"\x04" + struct.pack("<IH", len(content) + 2, tag) + content


def _header(stream: XdfStream) -> str:
    described = "".join(
        f"<channel><label>{label}</label><unit>{unit}</unit></channel>"
        for label, unit in zip(
            stream.labels, stream.units or ("",) * len(stream.labels), strict=True
        )
    )
    desc = f"<channels>{described}</channels>" if described else ""
    return (
        f'<?xml version="1.0"?><info><name>{stream.name}</name><type>{stream.kind}</type>'
        f"<channel_count>{stream.samples.shape[1]}</channel_count>"
        f"<nominal_srate>{stream.nominal_sfreq}</nominal_srate>"
        f"<channel_format>{stream.channel_format}</channel_format><source_id>id-1</source_id>"
        f"<uid>uid-1</uid><hostname>here</hostname><desc>{desc}</desc></info>"
    )


def _samples(stream: XdfStream, first: int) -> bytes:
    values = stream.samples[first : first + 100].astype(FORMATS[stream.channel_format])
    stamps = stream.stamps_s[first : first + 100]
    content = b"\x04" + struct.pack("<I", len(values))
    for row, stamp in zip(values, stamps, strict=True):
        content += b"\x08" + struct.pack("<d", stamp) + row.tobytes()
    return content
