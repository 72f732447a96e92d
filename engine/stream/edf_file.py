"""Reading EDF, EDF+ and BDF (edfplus.info; BioSemi's 24-bit variant) through edfio.

Of channels with different rates the ones at the rate of most voltage channels are kept. In a
discontinuous file (EDF+D) every gap between data records begins a new segment; the times of
the records are read here, since edfio does not give them out.
"""

from __future__ import annotations

import itertools
import re
import warnings
from collections import Counter
from pathlib import Path

import numpy as np
from edfio import BdfSignal, EdfSignal, read_bdf, read_edf
from numpy.typing import NDArray

from engine.chunk import StreamInfo
from engine.errors import SourceError
from engine.stream.recorded import (
    Recorded,
    RecordedSegment,
    distinct_labels,
    frozen,
    voltage_units,
)

_Signal = EdfSignal | BdfSignal
_ONSET = re.compile(rb"([+-]\d+(?:\.\d*)?)(?:\x15[^\x14\x00]*)?\x14")


def read_edf_file(path: Path, unit: str | None) -> Recorded:
    """Read one file; ConfigError asks for ``--unit``, SourceError says why it cannot be used."""
    remarks: list[str] = []
    with path.open("rb") as file:
        bdf = file.read(1) == b"\xff"
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        edf = (read_bdf if bdf else read_edf)(path, header_encoding="latin-1")
        n_records, record_s = edf.num_data_records, edf.data_record_duration
        if n_records < 1 or record_s <= 0 or not edf.signals:
            raise SourceError(f"{path.name} holds no samples; choose another recording.")
        kept = _kept(path.name, list(edf.signals), unit, remarks)
        signals = [signal for signal, _, _ in kept]
        raw = frozen(np.stack([signal.data for signal in signals], axis=1))
    remarks += sorted({f"{path.name} is damaged: {_plain(w)}" for w in caught})
    sfreq = float(signals[0].sampling_frequency)
    info = StreamInfo(
        name=path.stem,
        kind="EEG",
        source_id="",
        uid="",
        hostname="",
        ch_names=distinct_labels([signal.label for signal in signals], remarks),
        units=tuple(name for _, name, _ in kept),
        to_uv=tuple(factor for _, _, factor in kept),
        nominal_sfreq=sfreq,
        sfreq=sfreq,
        channel_format="double64",
    )
    onsets = _record_onsets(path, n_records, 3 if bdf else 2)
    segments = _segments(raw, onsets, record_s, sfreq)
    if None in onsets or any(b < a for a, b in itertools.pairwise(o for o in onsets if o)):
        remarks.append(
            f"{path.name} is damaged: some data records say no time or step back in it; "
            "they are read as following each other."
        )
    return Recorded(info, segments, tuple(remarks))


def _kept(
    file: str, signals: list[_Signal], unit: str | None, remarks: list[str]
) -> list[tuple[_Signal, str, float]]:
    """Return the voltage channels of the one rate, with unit and factor; name those left out."""
    named = voltage_units(file, tuple(signal.physical_dimension for signal in signals), unit)
    voltages = [
        (signal, *voltage)
        for signal, voltage in zip(signals, named, strict=True)
        if voltage is not None and signal.physical_min != signal.physical_max
    ]
    if not voltages:
        raise SourceError(f"{file} holds no channel with a scale; choose another recording.")
    counts = Counter(signal.sampling_frequency for signal, _, _ in voltages)
    sfreq = max(counts, key=lambda rate: (counts[rate], rate))
    kept = [voltage for voltage in voltages if voltage[0].sampling_frequency == sfreq]
    chosen = {id(signal) for signal, _, _ in kept}
    for signal in signals:
        if id(signal) not in chosen:
            remarks.append(
                f"Channel {signal.label!r} of {file} was left out: it has "
                f"{signal.sampling_frequency:g} Hz and the unit {signal.physical_dimension!r}, "
                f"while {sfreq:g} Hz and a voltage are read."
            )
    return kept


def _record_onsets(path: Path, n_records: int, sample_bytes: int) -> list[float | None]:
    """Return when each data record begins, from the timekeeping annotations of EDF+.

    Empty where the file has none; None for a record whose time cannot be read.
    """
    with path.open("rb") as file:
        header = file.read(256)
        n_signals = int(header[252:256])
        fields = file.read(256 * n_signals)
        labels = [fields[16 * i : 16 * (i + 1)].strip() for i in range(n_signals)]
        first = n_signals * 216  # label to prefiltering: 16 + 80 + 5 times 8 + 80 bytes
        sizes = [
            int(fields[first + 8 * i : first + 8 * (i + 1)]) * sample_bytes
            for i in range(n_signals)
        ]
        notes = [i for i, label in enumerate(labels) if label.endswith(b"DF Annotations")]
        if not notes:
            return []
        start, size = sum(sizes[: notes[0]]), sizes[notes[0]]
        onsets: list[float | None] = []
        for record in range(n_records):
            file.seek(256 * (n_signals + 1) + record * sum(sizes) + start)
            match = _ONSET.match(file.read(size))
            onsets.append(float(match[1]) if match else None)
    return onsets


def _segments(
    raw: NDArray[np.generic], onsets: list[float | None], record_s: float, sfreq: float
) -> tuple[RecordedSegment, ...]:
    """Cut where a record does not begin where the one before it ended, to half a sample."""
    per_record = round(record_s * sfreq)
    starts = [(0, 0.0, "start")]
    for record, onset in enumerate(onsets):
        first, start_s, _ = starts[-1]
        expected_s = start_s + (record * per_record - first) / sfreq
        if record == 0 or onset is None or onsets[0] is None:
            continue
        hole_s = onset - onsets[0] - expected_s
        if hole_s > 0.5 / sfreq:
            why = f"a hole of {hole_s:.3g} s in the recording"
            starts.append((record * per_record, expected_s + hole_s, why))
    ends = [first for first, _, _ in starts[1:]] + [raw.shape[0]]
    return tuple(
        RecordedSegment(start_s, raw[first:end], why=why)
        for (first, start_s, why), end in zip(starts, ends, strict=True)
    )


def _plain(warning: warnings.WarningMessage) -> str:
    """Return a warning of edfio as the rest of a sentence."""
    text = str(warning.message)
    return text[:1].lower() + text[1:].rstrip(".") + "."
