"""A recording read from a file: what `engine.stream.files` returns, and its way into chunks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from engine.channels import match_channel
from engine.chunk import MICROVOLTS_PER, Chunk, Floats, StreamInfo, chunk_of
from engine.errors import ConfigError, bad_value
from engine.events import SegmentStart


@dataclass(frozen=True, eq=False)
class RecordedSegment:
    """Unbroken samples of a file.

    Attributes
    ----------
    start_s : seconds from the file's first sample.
    raw : (n_samples, n_channels), in the file's own units, read-only.
    stamps_s : (n_samples,), time stamps as they are in the file, never corrected; empty where
        the file has none.
    why : ``"start"``, or what broke the samples off before this segment.
    """

    start_s: float
    raw: NDArray[np.generic]
    stamps_s: Floats = field(default_factory=lambda: np.empty(0))
    why: str = "start"


@dataclass(frozen=True, eq=False)
class Recorded:
    """A whole recording; ``info.to_uv`` turns ``raw`` into microvolts.

    ``remarks`` are sentences for the operator: channels left out, damage passed over.
    """

    info: StreamInfo
    segments: tuple[RecordedSegment, ...]
    remarks: tuple[str, ...] = ()

    @property
    def n_samples(self) -> int:
        return sum(len(segment.raw) for segment in self.segments)

    @property
    def duration_s(self) -> float:
        """Seconds from the first sample to the end of the last one, holes included."""
        last = self.segments[-1]
        return last.start_s + len(last.raw) / self.info.sfreq


def iter_chunks(recorded: Recorded, n_samples: int) -> Iterator[SegmentStart | Chunk]:
    """Yield each segment's start and then its samples, at most ``n_samples`` a chunk."""
    if n_samples < 1:
        raise ValueError(f"a chunk needs at least one sample, not {n_samples}")
    position = 0
    for segment in recorded.segments:
        yield SegmentStart(position, segment.start_s, segment.why)
        for first in range(0, segment.raw.shape[0], n_samples):
            part = slice(first, first + n_samples)
            yield chunk_of(segment.raw[part], recorded.info.to_uv, segment.stamps_s[part])
        position += segment.raw.shape[0]


def only_channel(recorded: Recorded, wanted: str) -> Recorded:
    """Return the recording with one channel, found as `engine.channels` finds it."""
    index = match_channel(wanted, recorded.info.ch_names)
    kept = slice(index, index + 1)
    info = replace(
        recorded.info,
        ch_names=recorded.info.ch_names[kept],
        units=recorded.info.units[kept],
        to_uv=recorded.info.to_uv[kept],
    )
    segments = tuple(replace(s, raw=frozen(s.raw[:, kept])) for s in recorded.segments)
    return replace(recorded, info=info, segments=segments)


# ---- what the readers of every format share -------------------------------------------------


def voltage_units(
    file: str, units: tuple[str, ...], unit: str | None
) -> tuple[tuple[str, float] | None, ...]:
    """Return each channel's unit and its factor to microvolts, None for one that is no voltage.

    ``unit`` is the operator's answer for channels without a unit that is known. A file in which
    no channel has one is not guessed at: ConfigError names ``--unit``.
    """
    answer = None
    if unit is not None:
        factor = MICROVOLTS_PER.get(unit.strip().lower())
        if factor is None:
            raise bad_value("--unit", unit, "one of V, mV, µV, nV", "choose the amplifier's unit")
        answer = unit.strip(), factor
    known = [MICROVOLTS_PER.get(name.strip().lower()) for name in units]
    if answer is None and units and not any(known):
        named = ", ".join(sorted({repr(name) for name in units if name})) or "missing"
        raise ConfigError(
            f"The unit of the channels in {file} is {named}, but one of V, mV, µV, nV is needed; "
            "name it with --unit."
        )
    return tuple(
        (name, factor) if factor is not None else answer
        for name, factor in zip(units, known, strict=True)
    )


def distinct_labels(labels: list[str], remarks: list[str]) -> tuple[str, ...]:
    """Return labels of which no two are alike; an empty one becomes the channel's number."""
    named = [label.strip() or str(i + 1) for i, label in enumerate(labels)]
    twins = sorted({label for label in named if named.count(label) > 1})
    if twins:
        several = ", ".join(repr(label) for label in twins)
        remarks.append(f"Several channels are called {several}: they are numbered here.")
    seen: dict[str, int] = {}
    for i, label in enumerate(named):
        if label in twins:
            seen[label] = seen.get(label, 0) + 1
            named[i] = f"{label} #{seen[label]}"
    return tuple(named)


def frozen(samples: NDArray[np.generic]) -> NDArray[np.generic]:
    """Return the same array, read-only."""
    samples.setflags(write=False)
    return samples
