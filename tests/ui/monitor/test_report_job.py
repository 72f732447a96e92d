"""Reports that the desk has written: where they are is said, and so is why they are not."""

from pathlib import Path

from pytestqt.qtbot import QtBot

from engine.session.messages import Remark
from tests.engine.session.recorded import recorded_session
from ui.monitor.report_job import ReportJob


def test_where_the_report_is_is_said(tmp_path: Path, qtbot: QtBot) -> None:
    path = recorded_session(tmp_path)
    said: list[Remark] = []
    job = ReportJob(said.append)
    job.start(str(path))
    job.start(str(path))  # pressed twice, written once
    qtbot.waitUntil(lambda: len(said) == 2, timeout=60_000)
    assert said[0] == Remark("The report is being written.")
    pdf = tmp_path / "reports" / f"{path.stem}-full.pdf"
    assert said[1] == Remark(f"The report is written: {pdf}") and pdf.is_file()


def test_why_there_is_no_report_is_said(tmp_path: Path, qtbot: QtBot) -> None:
    said: list[Remark] = []
    job = ReportJob(said.append)
    job.start(str(tmp_path / "20250101-000000-none.sqlite"))
    qtbot.waitUntil(lambda: len(said) == 2, timeout=60_000)
    assert said[1].grave and "session ID" in said[1].text
