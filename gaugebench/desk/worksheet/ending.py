"""The end of the job: what blocks closing, signatures, closed, and the report."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QComboBox, QHBoxLayout, QProgressBar, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.words import said, speaker, tr
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Pane, Scrolled, bulleted, heading, line, words
from gaugebench.procedure.state import JobState
from gaugebench.procedure.view import Board

_KINDS = (("PDF", ".pdf"), ("HTML", ".html"), ("XLSX", ".xlsx"))
_PAPERS = ("A4", "Letter")


class EndingPane(Pane):
    """A report can be written at any time, in the desk's language; it says what was not tested."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.writing = False
        self.blocks = words()
        self.wanting = words()
        self.signed = words()
        self.who = line(tr("Name of who signs"), tr("Name"))
        self.capacity = QComboBox()
        self.capacity.setAccessibleName(tr("Who signs"))
        self.capacity.addItem(tr("technician"), "technician")
        self.capacity.addItem(tr("customer"), "customer")
        self.sign_button = button(tr("Sign"), tr("Sign the state of the job that is open now"))
        self.close_button = button(tr("Close the job"), tr("Nothing is entered after this"))
        self.kind = QComboBox()
        self.kind.setAccessibleName(tr("Kind of report"))
        for title, ending in _KINDS:
            self.kind.addItem(title, ending)
        self.paper = QComboBox()
        self.paper.setAccessibleName(tr("Paper of the report"))
        self.paper.addItems(_PAPERS)
        self.write_button = button(tr("Write the report"), tr("Write the report beside the job"))
        self.progress = QProgressBar()
        self.progress.setRange(0, 0)
        self.progress.setAccessibleName(tr("The report is being written"))
        self.progress.hide()
        self.written = words()
        self._lay_out()
        self.sign_button.clicked.connect(self._sign)
        self.close_button.clicked.connect(lambda: self.job.do("job closed"))
        self.write_button.clicked.connect(self.write)

    def show_board(self, board: Board | None) -> None:
        """Show what is still wanting."""
        sheet = self.job.sheet
        self.setEnabled(board is not None)
        if board is None or sheet is None:
            self.blocks.setText("")
            self.signed.setText("")
            return
        is_closed = sheet.state.closed is not None
        free = tr("The job is closed") if is_closed else tr("Nothing: the job can be closed.")
        self.blocks.setText(free if is_closed or not board.blocks else bulleted(board.blocks))
        self.wanting.setText("" if is_closed else _wanting(sheet.state))
        self.wanting.setVisible(bool(self.wanting.text()))
        self.close_button.setEnabled(not is_closed and not board.blocks)
        self.sign_button.setEnabled(not is_closed)
        signed = [f"{said(s.phase)}: {s.who}, {said(s.capacity)}" for s in sheet.state.signatures]
        self.signed.setText(bulleted(signed))

    def write(self) -> None:
        """Write the report off this thread; the path is shown once it is there."""
        job = self.job.path
        if job is None or self.writing:
            return
        out = job.with_suffix(str(self.kind.currentData()))
        paper, pressure = self.paper.currentText(), self.job.units.shown.pressure
        speech = speaker()

        def work() -> tuple[Path, list[str]]:
            from gaugebench.report.files import report_job  # takes a while to load

            told: list[str] = []
            made = report_job(
                job, out, paper=paper, pressure=pressure, speech=speech, say=told.append
            )
            return made, told

        self._set_writing(is_on=True)
        self.written.setText(tr("Writing {name} …", name=out.name))
        self.job.workers.run(work, self._done, self._failed)

    def _done(self, found: tuple[Path, list[str]]) -> None:
        self._set_writing(is_on=False)
        path, told = found
        lines = (tr("The report is {path}", path=path), *map(said, told))
        self.written.setText("\n".join(lines))

    def _failed(self, sentence: str) -> None:
        self._set_writing(is_on=False)
        self.written.setText("")
        self.job.refused.emit(sentence)

    def _set_writing(self, *, is_on: bool) -> None:
        self.writing = is_on
        self.progress.setVisible(is_on)
        self.write_button.setEnabled(not is_on)

    def _sign(self) -> None:
        if self.job.sheet is None:
            return
        phase, capacity = self.job.sheet.state.phase, self.capacity.currentData()
        if self.job.do("signed", phase=phase, who=self.who.text().strip(), capacity=capacity):
            self.who.clear()

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.addWidget(heading(tr("Before the job can be closed")))
        left.addWidget(Scrolled(self.blocks, tr("Before the job can be closed")), 1)
        left.addWidget(self.wanting)
        left.addWidget(self.close_button)
        sign = QHBoxLayout()
        sign.addWidget(self.who, 1)
        sign.addWidget(self.capacity)
        sign.addWidget(self.sign_button)
        report = QHBoxLayout()
        report.addWidget(self.kind)
        report.addWidget(self.paper)
        report.addWidget(self.write_button, 1)
        side = QWidget()
        right = QVBoxLayout(side)
        right.addWidget(heading(tr("Signatures")))
        right.addWidget(self.signed)
        right.addLayout(sign)
        right.addWidget(heading(tr("Report")))
        right.addLayout(report)
        right.addWidget(self.progress)
        right.addWidget(self.written)
        right.addStretch(1)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addLayout(left, 1)
        row.addWidget(side, 1)


def _wanting(state: JobState) -> str:
    """What cannot be had any more once the job is closed, though closing does not need it."""
    moments = {zero.moment for zero in state.zeros}
    if "before" not in moments or "after" in moments:
        return ""
    return tr(
        "The zeros after the work are not in the job yet. Read them in Hook-up, step 6, before the"
        " job is closed."
    )
