"""The Review place: a trace, its loadings, its marks and its figures."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSplitter, QVBoxLayout, QWidget

from gaugebench.analyse.settings import Settings
from gaugebench.desk.buttons import button
from gaugebench.desk.elided import Elided
from gaugebench.desk.notice import Notice
from gaugebench.desk.review import markbook
from gaugebench.desk.review.cursors import Cursors
from gaugebench.desk.review.edits import MarkEdits
from gaugebench.desk.review.keeping import Keeper
from gaugebench.desk.review.opened import Opened
from gaugebench.desk.review.opener import Opener
from gaugebench.desk.review.overview import OverviewStrip
from gaugebench.desk.review.picture import ReviewPicture
from gaugebench.desk.review.progress import ProgressStrip
from gaugebench.desk.review.recipes import Recipes
from gaugebench.desk.review.side import SidePane
from gaugebench.desk.review.taking import Taker
from gaugebench.desk.review.transport import Transport
from gaugebench.desk.review.values import readings, value_at
from gaugebench.desk.theme import Theme
from gaugebench.desk.units import Units
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers
from gaugebench.model.role import Role
from gaugebench.store.opening import is_trace_file

if TYPE_CHECKING:
    from gaugebench.desk.review.longtrace import Near


class ReviewPlace(QWidget):
    """What a record holds."""

    opened_trace = Signal(object)
    """A trace was opened: the `Opened`."""
    open_asked = Signal()

    def __init__(
        self, units: Units, theme: Theme, workers: Workers, recipes: Recipes | None = None
    ) -> None:
        super().__init__()
        self.units, self.workers = units, workers
        self.opened: Opened | None = None
        self.is_fetching = False
        """Whether a stretch of a long trace is being read."""
        self._is_looking = False
        self.notice = Notice()
        self.progress = ProgressStrip()
        self.opener = Opener(workers, self.notice, self.progress, recipes or Recipes())
        self._keeper = Keeper(self, workers, self.notice)
        self._taker = Taker(workers, self.notice, self.progress, self._write_title)
        self.title = Elided()
        self.title.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.about = Elided()
        """Machine, site and customer of the trace."""
        self.empty = QLabel(
            tr("No trace is open. Open one (Ctrl+O), or drop a file on this window.")
        )
        self.empty.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.empty.setWordWrap(True)
        self.strip = OverviewStrip(theme)
        self.picture = ReviewPicture(units, theme)
        self.picture.setAccessibleName(tr("Picture of the trace"))
        self.side = SidePane()
        self.analysis = self.side.analysis
        self.cursors = Cursors(theme)
        self.transport = Transport()
        self.edits = MarkEdits(self._show_marks)
        self.open_button = button(tr("Open…"), tr("Open a trace"))
        self.whole_button = button(tr("Whole trace"), tr("Show the whole trace (Home)"))
        self.nearer_button = button("+", tr("Show less, larger (+)"))
        self.farther_button = button("−", tr("Show more, smaller (−)"))
        self.box_button = button(tr("Box zoom"), tr("Drag a box to zoom into (B)"), is_switch=True)
        self.cursor_button = button(tr("Cursors"), tr("Two cursors (C)"), is_switch=True)
        self.save_button = button(tr("Save"), tr("Save marks and figures in the trace (Ctrl+S)"))
        self._lay_out()
        self._connect()
        self._show_parts()

    def open(self, path: Path, roles: Mapping[str, str] | None = None) -> None:
        """Open a trace off this thread, a text file after a look at it; what fails is said."""
        self.opener.open(path, roles)

    def read_otherwise(self) -> None:
        """Look again at the text file that is open: what it says may not be what was meant."""
        path = self.opened.path if self.opened is not None else None
        if path is None or is_trace_file(path):
            self.notice.say(tr("No text file is open; open the one to read in another way."))
            return
        self.opener.open(path, look_first=True)

    def show_opened(self, opened: Opened) -> None:
        """Show a trace that is ready."""
        self.opened = opened
        self._show_parts()
        self._write_title()
        self.strip.show_loadings(opened.figures.loadings, opened.span_s)
        self.picture.open(opened)
        self.cursors.lay_over(self.picture.panes)
        self.cursor_button.setChecked(False)
        self.transport.open(*opened.span_s)
        self.side.roles.show_trace(opened.trace)
        self.edits.open(opened.marks)
        self._show_figures(opened)
        self.strip.set_current(self.analysis.current)
        self.opened_trace.emit(opened)

    def take_over(self, old: ReviewPlace) -> None:
        """Show what another place showed, with all that was done to its marks."""
        if old.opened is None:
            return
        self.show_opened(old.opened)
        if 0 <= old.analysis.current < len(old.opened.figures.loadings):
            self.choose_loading(old.analysis.current)
        self.edits = old.edits
        self.edits.show_with(self._show_marks)
        self.picture.set_view(*old.picture.view)
        self.side.setCurrentIndex(old.side.currentIndex())

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

    def add_mark(self, note: str = "") -> None:
        """A mark at cursor A, or in the middle of the view."""
        if self.opened is not None:
            after, key = markbook.added(self.edits.marks, self._here(), note)
            self.edits.do(after)
            self.side.marks.choose(key)

    def delete_mark(self) -> None:
        """Delete the chosen mark."""
        key = self.side.marks.current
        if key is not None:
            self.edits.do(markbook.removed(self.edits.marks, key))

    def save(self) -> None:
        """Save marks and figures in the trace file, off this thread."""
        if self.opened is not None:
            self._keeper.save(self.opened, self.edits.marks, self._saved)

    def save_stretch(self) -> None:
        """Save the stretch in view as a trace of its own."""
        if self.opened is not None:
            self._keeper.save_stretch(self.opened, *self.picture.view)

    def _saved(self, opened: Opened) -> None:
        if self.opened is None or self.opened.trace is not opened.trace:
            return  # another was opened meanwhile
        has_new_path = self.opened.path != opened.path
        self.opened = opened
        self.edits.keep()
        self._write_title()
        if has_new_path:
            self.opened_trace.emit(opened)

    def _move_mark(self, key: str) -> None:
        after = markbook.moved(self.edits.marks, key, self._here())
        self.edits.do(after)

    def _note_mark(self, key: str, note: str) -> None:
        self.edits.do(markbook.noted(self.edits.marks, key, note))

    def _choose_mark(self, key: str) -> None:
        self.picture.choose(key)
        time_s = markbook.find(self.edits.marks, key).time_s
        start, end = self.picture.view
        if not start <= time_s <= end:
            self._move_to(time_s)

    def _here(self) -> float:
        start, end = self.picture.view
        return self.cursors.times[0] if self.cursors.is_on else (start + end) / 2

    def _show_marks(self, marks: markbook.Marks) -> None:
        self.picture.set_marks(marks)
        self.side.marks.show_marks(marks, self.units.shown)

    def _switch_cursors(self, is_on: bool) -> None:
        self.cursors.switch(self.picture.view, is_on=is_on)
        if is_on:
            self.side.setCurrentWidget(self.side.cursors)

    def _read_cursors(self) -> None:
        if self.opened is not None and self.cursors.is_on:
            first, second = self.cursors.times
            parts = self.opened.about(first), self.opened.about(second)
            found = readings(*parts, first, second)
            self.side.cursors.show_readings(self.cursors.times, found, self.units.shown)

    def _clicked(self, time_s: float) -> None:
        if self.cursors.is_on:
            self.cursors.put_nearer(time_s)

    def _replay(self, at_s: float) -> None:
        if self.opened is None:
            return
        start, end = self.picture.view
        self.picture.set_view(at_s - (end - start), at_s)
        self.picture.set_values([value_at(s, at_s) for s in self.opened.about(at_s).series])

    def _loop(self) -> None:
        self.transport.player.loop = self.picture.view

    def _take_anew(self, settings: Settings) -> None:
        if self.opened is not None:
            self.title.setText(tr("Taking figures anew …"))
            self._taker.again(self.opened, settings, self.edits.marks, self._taken_anew)

    def _take_roles(self, roles: Mapping[str, Role | None]) -> None:
        if self.opened is not None:
            self.title.setText(tr("Taking figures anew …"))
            self._taker.in_roles(self.opened, roles, self._roles_taken)

    def _roles_taken(self, opened: Opened) -> None:
        self.show_opened(opened)  # other roles stand in other panes
        self.side.setCurrentWidget(self.analysis)

    def _taken_anew(self, opened: Opened) -> None:
        self.opened = opened
        self._write_title()
        self.strip.show_loadings(opened.figures.loadings, opened.span_s)
        self._show_figures(opened)
        self.strip.set_current(self.analysis.current)
        self.edits.open(opened.marks)
        self.side.setCurrentWidget(self.analysis)

    def _show_figures(self, opened: Opened) -> None:
        may_take = opened.long is not None
        self.analysis.show_figures(opened.figures, opened.why_none, may_take=may_take)
        self.side.settings.show_settings(Settings.from_mapping(opened.figures.settings))

    def _fetch(self) -> None:
        """Fetch from the file of a long trace what the view needs; the newest view counts."""
        opened = self.opened
        if opened is None or opened.long is None or self.is_fetching:
            return
        long = opened.long
        wish = long.wish(*self.picture.view, self.picture.columns)
        if wish is None:
            return

        def came(near: Near) -> None:
            self.is_fetching = False
            long.near = near
            if self.opened is not None and self.opened.long is long:
                self.picture.renew()
                self._fetch()  # the view may have moved on meanwhile

        def failed(sentence: str) -> None:
            self.is_fetching = False
            self.notice.say(sentence)

        self.is_fetching = True
        self.workers.run(lambda: long.fetch(wish), came, failed)

    def _move_to(self, time_s: float) -> None:
        start, end = self.picture.view
        half = (end - start) / 2
        self.picture.set_view(time_s - half, time_s + half)

    def _write_title(self) -> None:
        if self.opened is None:
            self.title.setText("")
            self.about.setText("")
            return
        about = self.opened.trace.particulars
        parts = [about.machine, about.serial, about.site, about.customer]
        self.title.setText(self.opened.title)
        self.about.setText(" · ".join(p for p in parts if p))
        self.about.setVisible(any(parts))

    def _show_units(self) -> None:
        self.strip.set_shown(self.units.shown)
        self.analysis.set_shown(self.units.shown)
        self.side.marks.show_marks(self.edits.marks, self.units.shown)
        self._read_cursors()

    def _show_parts(self) -> None:
        is_open = self.opened is not None
        self.opener.pane.setVisible(self._is_looking)
        self.empty.setVisible(not is_open and not self._is_looking)
        for part in (self.strip, self._split, self.transport):
            part.setVisible(is_open and not self._is_looking)
        for each in (
            self.whole_button, self.nearer_button, self.farther_button, self.box_button,
            self.cursor_button, self.save_button,
        ):  # fmt: skip
            each.setEnabled(is_open and not self._is_looking)

    def _look(self, is_looking: bool) -> None:
        self._is_looking = is_looking
        self._show_parts()

    def _connect(self) -> None:
        self.opener.ready.connect(self.show_opened)
        self.opener.began.connect(self.title.setText)
        self.opener.ended.connect(self._write_title)
        self.opener.looking.connect(self._look)
        self.analysis.take.connect(lambda: self._take_anew(Settings()))
        self.picture.moved.connect(lambda *_: self._fetch())
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
        self.picture.clicked.connect(self._clicked)
        self.cursor_button.toggled.connect(self._switch_cursors)
        self.cursors.moved.connect(self._read_cursors)
        self.save_button.clicked.connect(self.save)
        marks = self.side.marks
        marks.chosen.connect(self._choose_mark)
        marks.add.connect(self.add_mark)
        marks.move_here.connect(self._move_mark)
        marks.note.connect(self._note_mark)
        marks.delete.connect(lambda _: self.delete_mark())
        self.side.settings.apply.connect(self._take_anew)
        self.side.settings.trouble.connect(self.notice.say)
        self.side.roles.apply.connect(self._take_roles)
        self.transport.moved.connect(self._replay)
        self.transport.loop_asked.connect(self._loop)
        self.units.changed.connect(self._show_units)
        self._show_units()

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self.open_button)
        said = QVBoxLayout()
        said.setSpacing(0)
        said.addWidget(self.title)
        said.addWidget(self.about)
        head.addLayout(said, 1)
        for each in (
            self.whole_button, self.farther_button, self.nearer_button, self.box_button,
            self.cursor_button, self.save_button,
        ):  # fmt: skip
            head.addWidget(each)
        self._split = QSplitter()
        self._split.addWidget(self.picture)
        self._split.addWidget(self.side)
        self._split.setStretchFactor(0, 1)
        self._split.setSizes([1060, 520])
        column = QVBoxLayout(self)
        column.addWidget(self.notice)
        column.addLayout(head)
        column.addWidget(self.progress)
        column.addWidget(self.empty, 1)
        column.addWidget(self.opener.pane, 1)
        column.addWidget(self.strip)
        column.addWidget(self._split, 1)
        column.addWidget(self.transport)
