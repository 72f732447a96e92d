"""Reading XDF (the Extensible Data Format of LSL recorders) through pyxdf.

Time stamps are taken raw: neither smoothed nor moved. They serve to find breaks and the true
rate; where the stream's clock was reset, the recorder's own clock measurements tell how long the
hole was.
"""

from __future__ import annotations

import gzip
import logging
from pathlib import Path
from typing import Any

import numpy as np
import pyxdf
from numpy.typing import NDArray

from engine.chunk import Floats, StreamInfo
from engine.errors import ConfigError, SourceError
from engine.stream.breaks import breaks_and_rate
from engine.stream.recorded import (
    Recorded,
    RecordedSegment,
    distinct_labels,
    frozen,
    voltage_units,
)

RATE_OFF = 0.01
"""Share by which the true rate may differ from the nominal one and the nominal one be used."""


class _Kept(logging.Handler):
    """Keeps what pyxdf would print: an operator gets sentences, no tracebacks."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.count = 0

    def emit(self, record: logging.LogRecord) -> None:
        self.count += 1


def read_xdf_file(path: Path, unit: str | None, stream: str | None) -> Recorded:
    """Read one stream of a file; ConfigError asks for ``--stream`` or ``--unit``."""
    streams, n_complaints = _load(path)
    found = _chosen(path.name, streams, stream)
    remarks = []
    if n_complaints:
        remarks.append(f"{path.name} is damaged: what could not be read was passed over.")
    info = found["info"]
    name, nominal = _text(info, "name"), float(_text(info, "nominal_srate") or 0)
    samples, stamps_s = np.asarray(found["time_series"]), np.asarray(found["time_stamps"])
    if nominal <= 0:
        raise SourceError(
            f"The stream {name!r} of {path.name} has no regular rate, but EEG needs one; "
            "choose another stream with --stream."
        )
    if samples.shape[0] < 2 or not np.isfinite(stamps_s).all():
        raise SourceError(
            f"The stream {name!r} of {path.name} holds {samples.shape[0]} samples that can be "
            "used, but two or more are needed; choose another recording."
        )
    breaks, effective = breaks_and_rate(stamps_s)
    if effective <= 0:
        raise SourceError(
            f"The time stamps of the stream {name!r} in {path.name} never advance, so that its "
            "rate is unknown; choose another recording."
        )
    off = abs(effective / nominal - 1.0) > RATE_OFF
    if off:
        remarks.append(
            f"The stream {name!r} says {nominal:g} Hz but was recorded at {effective:.4g} Hz: "
            "the rate recorded is used."
        )
    channels = _channels(info, samples.shape[1])
    units = tuple(_text(channel, "unit") for channel in channels)
    labels = distinct_labels([_text(channel, "label") for channel in channels], remarks)
    voltages = voltage_units(path.name, units, unit)
    kept = [(i, *voltage) for i, voltage in enumerate(voltages) if voltage is not None]
    remarks += [
        f"Channel {label!r} of {path.name} was left out: its unit {given!r} is no voltage."
        for label, given, voltage in zip(labels, units, voltages, strict=True)
        if voltage is None
    ]
    sfreq = effective if off else nominal
    described = StreamInfo(
        name=name,
        kind=_text(info, "type"),
        source_id=_text(info, "source_id"),
        uid=_text(info, "uid"),
        hostname=_text(info, "hostname"),
        ch_names=tuple(labels[i] for i, _, _ in kept),
        units=tuple(name for _, name, _ in kept),
        to_uv=tuple(factor for _, _, factor in kept),
        nominal_sfreq=nominal,
        sfreq=sfreq,
        channel_format=_text(info, "channel_format"),
        reference=_text(_first(_first(info, "desc"), "reference"), "label"),
        manufacturer=_text(_first(info, "desc"), "manufacturer"),
    )
    raw = frozen(np.ascontiguousarray(samples[:, [i for i, _, _ in kept]]))
    offsets = np.asarray(found["clock_times"], float), np.asarray(found["clock_values"], float)
    return Recorded(described, _segments(raw, stamps_s, breaks, sfreq, offsets), tuple(remarks))


def _load(path: Path) -> tuple[list[dict[str, Any]], int]:
    """Return the streams and how much pyxdf complained; a failure is one sentence."""
    log, kept = logging.getLogger("pyxdf"), _Kept()
    propagate, log.propagate = log.propagate, False
    log.addHandler(kept)
    try:
        with path.open("rb") as file:
            packed = file.read(2) == b"\x1f\x8b"
        with gzip.open(path) if packed else path.open("rb") as file:
            streams, _ = pyxdf.load_xdf(
                file,
                synchronize_clocks=False,
                handle_clock_resets=False,
                dejitter_timestamps=False,
            )
    except Exception as error:  # whatever a damaged file makes of the parser
        why = str(error) or type(error).__name__
        raise SourceError(
            f"{path.name} is damaged and cannot be read as XDF ({why}); choose another recording."
        ) from error
    finally:
        log.removeHandler(kept)
        log.propagate = propagate
    return streams, kept.count


def _chosen(file: str, streams: list[dict[str, Any]], wanted: str | None) -> dict[str, Any]:
    """Return the stream called ``wanted``, or the only one of type EEG that has samples."""
    numeric = [s for s in streams if _text(s["info"], "channel_format") != "string"]
    listed = ", ".join(repr(_text(s["info"], "name")) for s in numeric) or "none"
    if wanted is not None:
        fitting = [s for s in numeric if wanted in (_text(s["info"], "name"), _id(s))]
    else:
        fitting = [s for s in numeric if _text(s["info"], "type").lower() == "eeg"]
        fitting = [s for s in fitting if len(s["time_series"])] or fitting
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        several = ", ".join(f"{_text(s['info'], 'name')!r} ({_id(s)})" for s in fitting)
        raise ConfigError(
            f"{file} holds several streams that fit ({several}), but one is scored at a time; "
            "choose it by name or number with --stream."
        )
    if wanted is not None:
        raise ConfigError(
            f"--stream is {wanted!r}, but {file} holds only {listed}; correct the name."
        )
    raise SourceError(
        f"{file} holds no stream of type EEG (streams of numbers: {listed}); "
        "choose another recording, or one of these with --stream."
    )


def _segments(
    raw: NDArray[np.generic],
    stamps_s: Floats,
    breaks: tuple[int, ...],
    sfreq: float,
    offsets: tuple[Floats, Floats],
) -> tuple[RecordedSegment, ...]:
    starts: list[tuple[int, float, str]] = [(0, 0.0, "start")]
    for i in breaks:
        first, start_s, _ = starts[-1]
        end_s = start_s + (i - first) / sfreq
        step_s = float(stamps_s[i] - stamps_s[i - 1])
        reset_s = _offset(stamps_s[i], offsets) - _offset(stamps_s[i - 1], offsets)
        if abs(reset_s) > 1.0:
            step_s, why = step_s + reset_s, "the stream's clock was set anew"
        elif step_s < 0:
            step_s, why = 0.0, "the stream's clock went back; how long the hole was is unknown"
        else:
            why = f"a hole of {step_s:.3g} s in the recording"
        starts.append((i, end_s + max(0.0, step_s - 1.0 / sfreq), why))
    ends = [first for first, _, _ in starts[1:]] + [raw.shape[0]]
    return tuple(
        RecordedSegment(start_s, raw[first:end], stamps_s[first:end], why)
        for (first, start_s, why), end in zip(starts, ends, strict=True)
    )


def _offset(stamp_s: float, offsets: tuple[Floats, Floats]) -> float:
    """Return the recorder's clock minus the stream's, as measured nearest to a stamp."""
    times_s, values_s = offsets
    return float(values_s[np.argmin(np.abs(times_s - stamp_s))]) if times_s.size else 0.0


def _channels(info: dict[str, Any], n_channels: int) -> list[dict[str, Any]]:
    """Return each channel's description; empty ones where they do not fit the channels."""
    described = _first(_first(info, "desc"), "channels").get("channel") or []
    channels = [channel if isinstance(channel, dict) else {} for channel in described]
    return channels if len(channels) == n_channels else [{} for _ in range(n_channels)]


def _first(node: dict[str, Any], key: str) -> dict[str, Any]:
    """Return the first element under ``key`` of pyxdf's tree, or an empty one."""
    found = (node.get(key) or [None])[0]
    return found if isinstance(found, dict) else {}


def _text(node: dict[str, Any], key: str) -> str:
    found = (node.get(key) or [None])[0]
    return str(found).strip() if found is not None else ""


def _id(stream: dict[str, Any]) -> str:
    return str(stream["info"]["stream_id"])
