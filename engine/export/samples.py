"""A recording's samples as the whole numbers of a file: the range of each channel, then digits.

The samples are walked through twice and never held as floats all at once.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.chunk import Chunk
from engine.export.timeline import Segment
from engine.session.recording_reader import RecordedSession


@dataclass(frozen=True)
class Range:
    """Whole microvolts that hold every value of a channel."""

    channel: int
    low_uv: float
    high_uv: float

    def step_uv(self, bits: int) -> float:
        """Return what one step of the digits weighs."""
        return (self.high_uv - self.low_uv) / (math.ldexp(1.0, bits) - 1)


@dataclass(frozen=True, eq=False)
class Digits:
    """A file's samples.

    Attributes
    ----------
    values : (n_channels, n_samples), int16, or int32 for 24 bits.
    missing : (first sample, how many, channel) of every stretch without values.
    n_padded : samples at the end that only fill the last data record.
    """

    values: NDArray[np.int16] | NDArray[np.int32]
    missing: tuple[tuple[int, int, int], ...]
    n_padded: int


def ranges_of(session: RecordedSession) -> list[Range]:
    """Return the range of every channel; a channel without any value lies around zero."""
    n_channels = len(session.info.ch_names)
    low, high = np.full(n_channels, np.inf), np.full(n_channels, -np.inf)
    for _, chunk in _placed(session):
        values = np.where(np.isfinite(chunk.samples_uv), chunk.samples_uv, np.nan)
        low = np.fmin(low, np.fmin.reduce(values, axis=0, initial=np.inf))
        high = np.fmax(high, np.fmax.reduce(values, axis=0, initial=-np.inf))
    ranges = []
    for channel, (least, most) in enumerate(zip(low.tolist(), high.tolist(), strict=True)):
        if not math.isfinite(least):
            least = most = 0.0
        bottom, top = float(math.floor(least)), float(math.ceil(most))
        ranges.append(Range(channel, bottom, top if top > bottom else bottom + 1))
    return ranges


def digits_of(
    session: RecordedSession, segments: list[Segment], ranges: list[Range], bits: int, n_record: int
) -> Digits:
    """Return the digits of consecutive segments, gaps filled, in whole records of ``n_record``."""
    sfreq, start_s = session.info.sfreq, segments[0].start_s
    places: dict[int, int] = {}
    end = 0
    for segment in segments:
        places[segment.first] = max(end, round((segment.start_s - start_s) * sfreq))
        end = places[segment.first] + segment.end - segment.first
    n_total = -(-end // n_record) * n_record
    dtype = np.int16 if bits == 16 else np.int32
    values = np.zeros((len(ranges), n_total), dtype)
    channels = [found.channel for found in ranges]
    low = np.array([found.low_uv for found in ranges])
    step = np.array([found.step_uv(bits) for found in ranges])
    bottom = -(2 ** (bits - 1))
    zero = np.clip(np.round(-low / step) + bottom, bottom, -bottom - 1)
    missing: list[tuple[int, int, int]] = []
    last, place = zero.astype(dtype), 0
    for sample, chunk in _placed(session):
        if not segments[0].first <= sample < segments[-1].end:
            continue
        if sample in places:
            values[:, place : places[sample]] = last[:, None]
            place = places[sample]
        samples_uv = chunk.samples_uv[:, channels]
        there = np.isfinite(samples_uv)
        digits = np.round((np.where(there, samples_uv, low) - low) / step) + bottom
        if not there.all():
            _hold(digits, there, last)
            missing += _stretches(there, place, channels)
        values[:, place : place + chunk.n_samples] = digits.T
        last = digits[-1].astype(dtype)
        place += chunk.n_samples
    values[:, place:] = last[:, None]
    return Digits(values, tuple(_joined(missing)), n_total - end)


def _placed(session: RecordedSession) -> Iterator[tuple[int, Chunk]]:
    """Yield (first sample, samples), in order."""
    sample = 0
    for item in session.inputs():
        if isinstance(item, Chunk):
            yield sample, item
            sample += item.n_samples


def _hold(digits: NDArray[np.float64], there: NDArray[np.bool_], last: NDArray[np.generic]) -> None:
    """Put the last value before it in place of every missing one, (n_samples, n_channels)."""
    for channel in np.flatnonzero(~there.all(axis=0)):
        place = np.where(there[:, channel], np.arange(1, there.shape[0] + 1), 0)
        column = np.concatenate([[float(last[channel])], digits[:, channel]])
        digits[:, channel] = column[np.maximum.accumulate(place)]


def _stretches(
    there: NDArray[np.bool_], place: int, channels: list[int]
) -> Iterator[tuple[int, int, int]]:
    """Yield (first sample, how many, channel) of what is missing in a chunk."""
    for column, channel in enumerate(channels):
        edges = np.diff(np.concatenate([[1], there[:, column].astype(int), [1]]))
        for begin, end in zip(np.flatnonzero(edges < 0), np.flatnonzero(edges > 0), strict=True):
            yield place + int(begin), int(end - begin), channel


def _joined(missing: list[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    """Join stretches that touch, channel by channel."""
    joined: list[tuple[int, int, int]] = []
    for begin, n, channel in sorted(missing, key=lambda stretch: (stretch[2], stretch[0])):
        before = joined[-1] if joined else (0, 0, -1)
        if before[2] == channel and before[0] + before[1] == begin:
            joined[-1] = (before[0], before[1] + n, channel)
        else:
            joined.append((begin, n, channel))
    return joined
