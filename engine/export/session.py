"""All exports of one recording, as the end of a session and the command line ask for them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from engine.errors import RecordError
from engine.export.csv import write_tables
from engine.export.edf import write_edf
from engine.session.recording_reader import read_session


@dataclass(frozen=True)
class Exported:
    """Files that were written, and sentences about them that the operator should read."""

    paths: tuple[Path, ...]
    remarks: tuple[str, ...]


def export_all(
    path: Path, folder: Path, passphrase: str = "", *, edf: bool = True, tables: bool = True
) -> Exported:
    """Write a recording's EDF+ file and its tables into ``folder``.

    When one of them cannot be written the other is still tried; the RecordError of the first is
    raised then. The recording itself is only read.
    """
    session = read_session(path, passphrase)
    paths: list[Path] = []
    remarks: list[str] = []
    failed: list[RecordError] = []
    if edf:
        try:
            written = write_edf(session, folder)
            paths += written.paths
            remarks += written.remarks
        except RecordError as error:
            failed.append(error)
    if tables:
        try:
            paths += write_tables(session, folder)
        except RecordError as error:
            failed.append(error)
    if failed:
        raise failed[0]
    return Exported(tuple(paths), tuple(remarks))
