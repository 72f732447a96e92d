"""A recording as EDF+ (edfplus.info), written aside, read back, compared, renamed.

Samples are microvolts over the range that the channel really took, so that the 16 bits are well
used; where one step would still be coarser than `COARSEST_UV`, the file is BDF+ with 24 bits. What
the format cannot hold is filled with the last value before it and marked: gaps, missing values,
the rest of the last data record. After a gap longer than `LONGEST_FILL_S` another file begins.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from pathlib import Path

from edfio import (
    Bdf,
    BdfSignal,
    Edf,
    EdfAnnotation,
    EdfSignal,
    Patient,
)

from engine.errors import RecordError
from engine.export.aside import written_aside
from engine.export.edf_compare import compare
from engine.export.edf_header import (
    annotation_text,
    client_code,
    labels_of,
    record_length,
    recording_of,
    subfield,
)
from engine.export.samples import Digits, Range, digits_of, ranges_of
from engine.export.timeline import Segment, Timeline, timeline_of
from engine.export.words import BAD
from engine.session.recording_reader import RecordedSession
from engine.session.shelf import began_utc

COARSEST_UV = 0.1
"""One step of a 16-bit file; a coarser one is written with 24 bits."""

LONGEST_FILL_S = 600.0
"""A gap longer than this is not filled: another file begins after it."""

_LARGEST_UV = 9_999_999.0  # what the eight letters of a range in the header can hold


@dataclass(frozen=True)
class WrittenEdf:
    """What was written. ``step_uv`` is the coarsest step of a channel, microvolts."""

    paths: tuple[Path, ...]
    step_uv: float
    remarks: tuple[str, ...]


def write_edf(session: RecordedSession, folder: Path) -> WrittenEdf:
    """Write a recording into ``folder`` under its own name; RecordError when it cannot be."""
    timeline = timeline_of(session)
    if not timeline.segments:
        raise RecordError(
            f"The recording {session.path} holds no samples, but an EDF file needs some; "
            "export its tables alone (--csv)."
        )
    ranges, remarks = _kept(session)
    bits = 16 if max(r.step_uv(16) for r in ranges) <= COARSEST_UV else 24
    step_uv = max(r.step_uv(bits) for r in ranges)
    paths = []
    for number, segments in enumerate(_files(timeline), 1):
        suffix = ("" if number == 1 else f"-part-{number}") + (".edf" if bits == 16 else ".bdf")
        path = folder / f"{session.path.stem}{suffix}"
        made = _made(session, timeline, segments, ranges, bits, remarks)
        with written_aside(path) as aside:
            aside.write_bytes(made.to_bytes())
            compare(path, aside, made)
        paths.append(path)
    if bits == 24:
        remarks = [
            *remarks,
            f"The samples span so much that 16 bits would take steps of more than {COARSEST_UV:g} "
            f"µV; {paths[0].name} is a BDF+ file with 24 bits.",
        ]
    return WrittenEdf(tuple(paths), step_uv, tuple(remarks))


def _kept(session: RecordedSession) -> tuple[list[Range], list[str]]:
    """Return the ranges of the channels that the format can hold, and what is left out."""
    kept, remarks = [], []
    for found in ranges_of(session):
        name = session.info.ch_names[found.channel]
        if found.low_uv >= -_LARGEST_UV and found.high_uv <= _LARGEST_UV:
            kept.append(found)
        else:
            remarks.append(
                f"channel {name} left out: it holds {found.low_uv:.4g} to {found.high_uv:.4g} µV, "
                "and EDF takes up to 10 V"
            )
    if not kept:
        raise RecordError(
            f"The recording {session.path} holds only values beyond 10 V, and EDF cannot take "
            "them; check the unit of the stream, and export the tables alone (--csv)."
        )
    return kept, remarks


def _files(timeline: Timeline) -> list[list[Segment]]:
    """Group segments into files: another one after a long gap."""
    files = [[timeline.segments[0]]]
    for before, after in pairwise(timeline.segments):
        end_s = before.start_s + (before.end - before.first) / timeline.sfreq
        if after.start_s - end_s > LONGEST_FILL_S:
            files.append([])
        files[-1].append(after)
    return files


def _made(
    session: RecordedSession,
    timeline: Timeline,
    segments: list[Segment],
    ranges: list[Range],
    bits: int,
    remarks: list[str],
) -> Edf | Bdf:
    """Build one file in memory."""
    n_record, record_s = record_length(session.info.sfreq)
    digits = digits_of(session, segments, ranges, bits, n_record)
    sfreq = n_record / record_s
    kind = EdfSignal if bits == 16 else BdfSignal
    signals = [
        kind.from_digital(
            row,
            sfreq,
            label=label,
            physical_dimension="uV",
            physical_range=(found.low_uv, found.high_uv),
        )
        for row, found, label in zip(
            digits.values, ranges, labels_of([session.info.ch_names[r.channel] for r in ranges]),
            strict=True,
        )
    ]  # fmt: skip
    start_s = segments[0].start_s
    marks = _annotations(session, timeline, digits, start_s, bits, ranges, remarks)
    slower = session.info.sfreq / sfreq
    last_s = digits.values.shape[1] / sfreq
    annotations = [
        EdfAnnotation(
            min(max(0.0, round((onset_s - start_s) * slower, 6)), round(last_s, 6)),
            None if duration_s is None else round(duration_s * slower, 6),
            annotation_text(text),
        )
        for onset_s, duration_s, text in marks
    ]
    began = began_utc(session)
    local = None if began is None else (began + timedelta(seconds=start_s)).astimezone()
    return (Edf if bits == 16 else Bdf)(
        signals,  # type: ignore[arg-type]
        patient=Patient(code=subfield(client_code(session), 40)),
        recording=recording_of(session, local),
        starttime=None if local is None else local.time().replace(tzinfo=None),
        data_record_duration=record_s,
        annotations=annotations,
    )


def _annotations(
    session: RecordedSession,
    timeline: Timeline,
    digits: Digits,
    start_s: float,
    bits: int,
    ranges: list[Range],
    remarks: list[str],
) -> list[tuple[float, float | None, str]]:
    """Return (onset, duration, text) of all that falls into a file, seconds of the session."""
    sfreq = session.info.sfreq
    last = digits.values.shape[1]
    end_s = start_s + last / sfreq
    step_uv = max(found.step_uv(bits) for found in ranges)
    marks: list[tuple[float, float | None, str]] = [
        (start_s, None, f"{bits} bits, one step at most {step_uv:.3g} µV"),
        *((start_s, None, remark) for remark in remarks),
    ]
    if not session.ended:
        marks.append((start_s, None, "the session was cut off; this is what was saved"))
    first = start_s == timeline.segments[0].start_s
    for h in timeline.happenings:
        if (first or h.onset_s >= start_s) and h.onset_s <= end_s:
            marks.append((h.onset_s, h.duration_s, h.text))
        elif h.onset_s < start_s < h.onset_s + (h.duration_s or 0.0):
            marks.append(
                (start_s, h.onset_s + (h.duration_s or 0.0) - start_s, f"{h.text} goes on")
            )
    for begin, n, channel in digits.missing:
        name = session.info.ch_names[channel]
        marks.append((start_s + begin / sfreq, n / sfreq, f"{BAD}values missing on {name}"))
    if digits.n_padded:
        begin_s = start_s + (last - digits.n_padded) / sfreq
        marks.append((begin_s, digits.n_padded / sfreq, f"{BAD}fill after the last sample"))
    return marks
