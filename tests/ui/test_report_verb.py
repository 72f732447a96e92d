"""`nudgeline report`: pages that can be printed, searched, and handed over."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from PyQt6.QtGui import QImage
from PyQt6.QtPdf import QPdfDocument
from PyQt6.QtWidgets import QApplication

from tests.engine.records.visits import recorded_visit
from tests.engine.session.recorded import recorded_session
from ui.command_line import main
from ui.verbs.report import written

HEADINGS = (
    "Minute by minute",
    "Numbers",
    "Whether it changed",
    "Power spectrum",
    "How often each amplitude was there",
    "Method",
    "CRED-nf checklist (Ros et al. 2020)",
    "Cautions",
)


def text_of(document: QPdfDocument, page: int) -> str:
    return document.getAllText(page).text()


def test_a_recording_becomes_pages_and_pictures(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], qapp: QApplication
) -> None:
    path = recorded_session(tmp_path)
    assert main(["report", str(path), "--json"]) == 0
    files = [Path(name) for name in json.loads(capsys.readouterr().out)["files"]]
    assert [file.suffix for file in files] == [
        ".html",
        ".pdf",
        ".html",
        ".pdf",
        *[".png"] * 6,
    ]
    assert {file.parent for file in files} == {tmp_path / "reports"}
    assert all(file.stat().st_mode & 0o777 == 0o600 for file in files)

    document = QPdfDocument(None)
    document.load(str(files[1]))
    assert document.pageCount() == 1
    assert "You trained for" in text_of(document, 0) and "page 1 of 1" in text_of(document, 0)
    document.load(str(files[3]))
    n = document.pageCount()
    pages = [text_of(document, page) for page in range(n)]
    assert all(f"page {page + 1} of {n}" in text for page, text in enumerate(pages))
    whole = "\n".join(pages)
    for heading in HEADINGS:
        assert whole.splitlines().count(heading) == 1
    for text in pages:
        lines = text.replace("\r", "").strip().split("\n")
        said = [line for line in lines if line and "page " not in line and "session 2" not in line]
        assert len(said) > 3, "no page is empty"
        assert said[-1].strip() not in HEADINGS, "no heading is left at the foot of a page"

    for file in files[4:]:
        image = QImage(str(file))
        assert image.width() == 2640 and image.isGrayscale()
        shades = {
            image.pixelColor(x, y).lightness()
            for x in range(0, image.width(), 9)
            for y in range(0, image.height(), 7)
        }
        assert min(shades) < 60 and max(shades) == 255


def test_a_folder_that_cannot_be_made_is_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], qapp: QApplication
) -> None:
    path = recorded_session(tmp_path)
    (tmp_path / "file").write_text("in the way")
    assert main(["report", str(path), "--folder", str(tmp_path / "file")]) in (1, 2)
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and "file" in err


def test_the_page_for_the_client_is_one_however_much_was_written(
    tmp_path: Path, qapp: QApplication
) -> None:
    words: dict[str, Any] = {"words": "It was long. " * 300, "rating": 5}
    entries = [("rating", words), ("plan", {"next": "More of it. " * 300})]
    path = recorded_visit(tmp_path, entries=entries)
    files = written(path, tmp_path, "")
    document = QPdfDocument(None)
    document.load(str(files[1]))
    assert document.pageCount() == 1
    text = " ".join(text_of(document, 0).split())
    assert "It was long." in text and "…" in text and "tell your practitioner" in text
