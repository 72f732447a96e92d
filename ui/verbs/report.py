"""`nudgeline report`: one page for the client and a full one for the file, to hand over."""

from __future__ import annotations

from argparse import Namespace
from datetime import UTC, datetime
from pathlib import Path

from engine.clinic import load_clinic
from engine.report.writing import write_reports
from engine.session.shelf import find_recording
from ui.report_pdf import application, write_pdf, write_pictures
from ui.verbs.files import folder_for, print_files
from ui.verbs.passphrase import passphrase_for

FOLDER = "reports"
"""Where reports go unless another place is named: a folder beside the recording."""


def run(options: Namespace) -> int:
    """Write both reports of one recording as HTML and PDF, and every figure as PNG."""
    path = find_recording(load_clinic().recordings, options.id)
    folder = folder_for(path, options.folder, FOLDER)
    files = written(path, folder, passphrase_for(path))
    print_files(path, files, options.json)
    return 0


def written(path: Path, folder: Path, passphrase: str) -> list[Path]:
    """Write a recording's reports into a folder; RecordError as in `write_reports`."""
    app = application()
    files: list[Path] = []
    for report in write_reports(path, folder, datetime.now(UTC), passphrase):
        pdf, short = report.path.with_suffix(".pdf"), report.kind == "client"
        footer = f"Nudgeline, session {path.stem}"
        files += [report.path, write_pdf(report.html, pdf, footer, one_page=short)]
        if not short:
            files += write_pictures(report.html, report.path.with_suffix(""))
    app.processEvents()
    return files
