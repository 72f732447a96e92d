"""The reports of a recording, written by a process of their own so that no page waits for them."""

from __future__ import annotations

import sys
from collections.abc import Callable

from PyQt6.QtCore import QProcess, QProcessEnvironment

from engine.session.messages import Remark
from ui.verbs.passphrase import VARIABLE

PROGRAM = "import sys; from ui.command_line import main; sys.exit(main())"


class ReportJob:
    """`start` writes the reports of one recording; ``say`` hears where they are, or why not."""

    def __init__(self, say: Callable[[Remark], object]):
        self._say = say
        self._process: QProcess | None = None

    def start(self, recording: str, passphrase: str = "") -> None:
        """Write the reports of a recording into the folder beside it; one job at a time."""
        if self._process is not None:
            return
        process = QProcess()
        environment = QProcessEnvironment.systemEnvironment()
        if passphrase:
            environment.insert(VARIABLE, passphrase)
        process.setProcessEnvironment(environment)
        process.finished.connect(lambda code: self._finished(code))
        process.errorOccurred.connect(lambda error: self._failed(error))
        self._process = process
        process.start(sys.executable, ["-c", PROGRAM, "report", recording])
        self._say(Remark("The report is being written."))

    def _finished(self, code: int) -> None:
        process, self._process = self._process, None
        assert process is not None
        written = bytes(process.readAllStandardOutput().data()).decode().split("\n")
        said = bytes(process.readAllStandardError().data()).decode().strip()
        process.deleteLater()
        pdfs = [line for line in written if line.endswith(".pdf")]
        if code == 0 and pdfs:
            self._say(Remark(f"The report is written: {pdfs[-1]}"))
        else:
            self._say(
                Remark(said.split("\n")[-1] or "The report could not be written.", grave=True)
            )

    def _failed(self, error: QProcess.ProcessError) -> None:
        if error is QProcess.ProcessError.FailedToStart and self._process is not None:
            self._process.deleteLater()
            self._process = None
            self._say(Remark("The report could not be begun; run `nudgeline report last`.", True))
