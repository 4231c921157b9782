"""The Review place: a trace, its loadings, its marks and its figures."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSplitter, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.notice import Notice
from gaugebench.desk.review.analysis import AnalysisPane
from gaugebench.desk.review.opened import Opened, load
from gaugebench.desk.review.overview import OverviewStrip
from gaugebench.desk.review.picture import ReviewPicture
from gaugebench.desk.theme import Theme
from gaugebench.desk.units import Units
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers


class ReviewPlace(QWidget):
    """What a record holds."""

    opened_trace = Signal(object)
    """A trace was opened: the `Opened`."""
    open_asked = Signal()

    def __init__(self, units: Units, theme: Theme, workers: Workers) -> None:
        super().__init__()
        self.units, self.workers = units, workers
        self.opened: Opened | None = None
        self._wanted = 0
        self.notice = Notice()
        self.title = QLabel()
        self.title.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.empty = QLabel(
            tr("No trace is open. Open one (Ctrl+O), or drop a file on this window.")
        )
        self.empty.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.empty.setWordWrap(True)
        self.strip = OverviewStrip(theme)
        self.picture = ReviewPicture(units, theme)
        self.picture.setAccessibleName(tr("Picture of the trace"))
        self.analysis = AnalysisPane()
        self.open_button = button(tr("Open…"), tr("Open a trace"))
        self.whole_button = button(tr("Whole trace"), tr("Show the whole trace (Home)"))
        self.nearer_button = button("+", tr("Show less, larger (+)"))
        self.farther_button = button("−", tr("Show more, smaller (−)"))
        self.box_button = button(tr("Box zoom"), tr("Drag a box to zoom into (B)"), is_switch=True)
        self._lay_out()
        self._connect()
        self._show_parts()

    def open(self, path: Path, roles: Mapping[str, str] | None = None) -> None:
        """Open a trace off this thread; what fails is said in the window."""
        self._wanted += 1
        wanted = self._wanted
        self.notice.clear()
        self.title.setText(tr("Opening {name} …", name=path.name))

        def done(opened: Opened) -> None:
            if wanted == self._wanted:  # another may have been asked for since
                self.show_opened(opened)

        def failed(sentence: str) -> None:
            if wanted == self._wanted:
                self.notice.say(sentence)
                self._write_title()

        self.workers.run(lambda: load(path, roles), done, failed)

    def show_opened(self, opened: Opened) -> None:
        """Show a trace that is ready."""
        self.opened = opened
        self._show_parts()
        self._write_title()
        self.strip.show_loadings(opened.figures.loadings, opened.trace.span_s)
        self.picture.open(opened)
        self.analysis.show_figures(opened.figures, opened.why_none)
        self.strip.set_current(self.analysis.current)
        self.opened_trace.emit(opened)

    def choose_loading(self, index: int) -> None:
        """Show a loading's figures and bring it into view."""
        if self.opened is None or not 0 <= index < len(self.opened.figures.loadings):
            return
        loading = self.opened.figures.loadings[index]
        self.analysis.show_loading(index)
        self.strip.set_current(index)
        self.picture.show_samples(None)
        air = 0.12 * (loading.end_s - loading.start_s)
        self.picture.go(loading.start_s - air, loading.end_s + air)

    def step_loading(self, by: int) -> None:
        """The next loading, or the one before."""
        self.choose_loading(self.analysis.current + by)

    def _move_to(self, time_s: float) -> None:
        start, end = self.picture.view
        half = (end - start) / 2
        self.picture.set_view(time_s - half, time_s + half)

    def _write_title(self) -> None:
        if self.opened is None:
            self.title.setText("")
            return
        about = self.opened.trace.particulars
        parts = [self.opened.title, about.machine, about.serial, about.site, about.customer]
        self.title.setText(" · ".join(p for p in parts if p))

    def _show_units(self) -> None:
        self.strip.set_shown(self.units.shown)
        self.analysis.set_shown(self.units.shown)

    def _show_parts(self) -> None:
        is_open = self.opened is not None
        self.empty.setVisible(not is_open)
        for part in (self.strip, self._split):
            part.setVisible(is_open)
        for each in (
            self.whole_button, self.nearer_button, self.farther_button, self.box_button,
        ):  # fmt: skip
            each.setEnabled(is_open)

    def _connect(self) -> None:
        self.open_button.clicked.connect(self.open_asked)
        self.whole_button.clicked.connect(self.picture.whole)
        self.nearer_button.clicked.connect(lambda: self.picture.zoom(0.5))
        self.farther_button.clicked.connect(lambda: self.picture.zoom(2.0))
        self.box_button.toggled.connect(self.picture.set_boxing)
        self.strip.chosen.connect(self.choose_loading)
        self.strip.moved_to.connect(self._move_to)
        self.analysis.chosen.connect(self.choose_loading)
        self.analysis.samples.connect(self.picture.show_samples)
        self.picture.moved.connect(self.strip.set_view)
        self.units.changed.connect(self._show_units)
        self._show_units()

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self.open_button)
        head.addWidget(self.title, 1)
        for each in (
            self.whole_button, self.farther_button, self.nearer_button, self.box_button,
        ):  # fmt: skip
            head.addWidget(each)
        self._split = QSplitter()
        self._split.addWidget(self.picture)
        self._split.addWidget(self.analysis)
        self._split.setStretchFactor(0, 1)
        self._split.setSizes([1060, 520])
        column = QVBoxLayout(self)
        column.addWidget(self.notice)
        column.addLayout(head)
        column.addWidget(self.empty, 1)
        column.addWidget(self.strip)
        column.addWidget(self._split, 1)
