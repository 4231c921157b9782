"""The window: the places of a visit as tabs along the top."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QApplication,
    QFileDialog,
    QMainWindow,
    QMenuBar,
    QMessageBox,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.banner import SimulatedBanner
from gaugebench.desk.changeover import carry_over
from gaugebench.desk.dress import wear
from gaugebench.desk.kitlink import KitLink
from gaugebench.desk.language import switch
from gaugebench.desk.ledger import Ledger
from gaugebench.desk.leftovers import Leftovers
from gaugebench.desk.live.feed import Feed
from gaugebench.desk.live.key import remembered, sequence_of
from gaugebench.desk.memory import Memory
from gaugebench.desk.menus import Menus
from gaugebench.desk.places import Maker, Places
from gaugebench.desk.theme import LIGHT, THEMES, Theme
from gaugebench.desk.unitbar import UnitBar
from gaugebench.desk.units import Units
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers
from gaugebench.model.trace import Particulars

if TYPE_CHECKING:
    from gaugebench.analyse.settings import Settings
    from gaugebench.desk.compare.place import ComparePlace
    from gaugebench.desk.hookup.place import HookupPlace
    from gaugebench.desk.hookup.workbench import Workbench
    from gaugebench.desk.live.place import LivePlace
    from gaugebench.desk.review.opened import Opened
    from gaugebench.desk.review.place import ReviewPlace
    from gaugebench.desk.worksheet.beside import BothWays
    from gaugebench.desk.worksheet.place import WorksheetPlace
    from gaugebench.guide import Place
    from gaugebench.model.kit import Kit
    from gaugebench.model.sheet import Sheet

AFTER_PAINT_MS = 150
TRACES = "*.h5 *.csv *.gz *.txt"


class DeskWindow(QMainWindow):
    """The desk."""

    def __init__(self, memory: Memory | None = None, theme: Theme | None = None) -> None:
        super().__init__()
        self.memory = memory or Memory()
        self.theme = theme or THEMES.get(self.memory.text("theme", LIGHT.key), LIGHT)
        self.feed: Feed | None = None
        self.link = KitLink(self)
        self.link.opened.connect(self.attach)
        self.link.failed.connect(self._not_connected)
        self._bench: Workbench | None = None
        """What Hook-up worked on before everything was built anew."""
        self.setAcceptDrops(True)
        self._build()
        self._restore()
        self.renew_title()

    def _build(self) -> None:
        """Everything that is in the window, in the theme and language that stand."""
        self.units = Units(self.memory.text("pressure", "bar"))
        self.workers = Workers(self)
        self.ledger = Ledger(self.workers, lambda: self.folder)
        self.leftovers = Leftovers(self.workers)
        self.leftovers.open_asked.connect(self.open_trace)
        self.tabs = Places(
            (
                Maker("hookup", tr("Hook-up"), self._make_hookup),
                Maker("live", tr("Live"), self._make_live),
                Maker("review", tr("Review"), self._make_review),
                Maker("compare", tr("Side by side"), self._make_compare),
                Maker("worksheet", tr("Worksheet"), self._make_worksheet),
            )
        )
        self.tabs.setAccessibleName(tr("Places of a visit"))
        self.unit_bar = UnitBar(self.units)
        self.tabs.setCornerWidget(self.unit_bar, Qt.Corner.TopRightCorner)
        self.simulated = SimulatedBanner()
        self._lay_out()
        self.menus = Menus(self, self.tabs, self.memory, self.theme.key)
        self.menus.open_asked.connect(self.ask_trace)
        self.menus.trace_chosen.connect(self.open_trace)
        # Not within the menu's own signal: the menu itself is built anew.
        later = Qt.ConnectionType.QueuedConnection
        self.menus.theme_chosen.connect(self.show_theme, later)
        self.menus.language_chosen.connect(self.speak, later)
        self.units.changed.connect(self._keep_unit)
        self.tabs.currentChanged.connect(lambda _: self._place_changed())
        self.tabs.place("hookup")

    def show_theme(self, key: str) -> None:
        """Wear another theme at once, and from now on."""
        if self._may_change():
            self.memory.keep("theme", key)
            self.theme = THEMES[key]
            self._build_anew()

    def speak(self, language: str) -> None:
        """Speak another language at once, and from now on."""
        if self._may_change():
            self.memory.keep("language", language)
            self._build_anew()

    def _may_change(self) -> bool:
        """Whether everything may be built anew; what stands in the way is said."""
        is_busy = self.link.is_opening or self.workers.is_waited_for
        if is_busy:
            self.tabs.say(tr("Something is still being worked on; choose again when it is done."))
            self.menus.renew_choices()
        return not is_busy

    def _build_anew(self) -> None:
        """Build every widget again: kit, record, trace, marks and job go on as they stood."""
        app = QApplication.instance()
        if isinstance(app, QApplication):
            switch(app, self.memory.text("language", "en"))
            wear(app, self.theme)
        old, before = self.tabs, self.takeCentralWidget()
        here, workers = old.currentIndex(), self.workers
        self._bench = old.hookup.bench
        self.ledger.end()
        self.menus.deleteLater()
        self.setMenuBar(QMenuBar())
        self._build()
        carry_over(old, self.tabs, self.feed)
        self.ledger.attach(self.feed)
        self.leftovers.look(self.folder)
        workers.close()
        workers.deleteLater()
        if before is not None:
            before.hide()
            before.deleteLater()
        self.tabs.setCurrentIndex(here)
        self.menuBar().show()
        self.body.show()
        self._place_changed()

    def explain(self, place: Place) -> None:
        """Open the guide at a place."""
        self.menus.show_guide(place)

    @property
    def hookup(self) -> HookupPlace:
        """The Hook-up place."""
        return self.tabs.hookup

    @property
    def live(self) -> LivePlace:
        """The Live place."""
        return self.tabs.live

    @property
    def review(self) -> ReviewPlace:
        """The Review place."""
        return self.tabs.review

    @property
    def compare(self) -> ComparePlace:
        """The Side by side place."""
        return self.tabs.compare

    @property
    def worksheet(self) -> WorksheetPlace:
        """The Worksheet place."""
        return self.tabs.worksheet

    def attach(self, feed: Feed, particulars: Particulars | None = None) -> None:
        """Show a session that is open; whoever opened it closes it."""
        self.feed = feed
        self.live.particulars = particulars or self.worksheet.particulars
        self.hookup.attach(feed)
        self.live.attach(feed)
        self.ledger.attach(feed)
        self._hand_over()
        self.renew_title()

    def detach(self) -> None:
        """Let go of the session."""
        self.feed = None
        self.hookup.attach(None)
        if self.tabs.is_built("live"):
            self.live.detach()
        self.ledger.attach(None)
        self.renew_title()

    @property
    def folder(self) -> Path:
        """Where records go."""
        return Path(self.memory.text("folder", str(Path.home() / "Gaugebench")))

    def keep_folder(self, folder: Path) -> None:
        """Records go there from now on; those that a crash left there are told."""
        if self.feed is not None and self.feed.record_state is not None:
            self.hookup.notice.say(tr("A record is running; stop it before the folder is changed."))
            return
        self.memory.keep("folder", str(folder))
        self.link.record_in(folder)
        self.ledger.attach(self.feed)
        self.hookup.show_room(folder, self.ledger.disk.text())
        self.leftovers.look(folder)

    def connect_kit(self, kit: Kit) -> None:
        """Open a kit off this thread; the one that was open is closed first."""
        if self.link.is_opening:
            return  # the one that is being opened would be left open for ever
        if self.feed is not None and self.feed.record_state is not None:
            self.hookup.notice.say(tr("A record is running; stop it before opening another kit."))
            return
        self.detach()
        self.link.open(self.workers, kit, self.folder, self._settings_now())

    def disconnect_kit(self) -> None:
        """Close the kit."""
        self.detach()
        self.link.close(self.workers)

    def _not_connected(self, sentence: str) -> None:
        self.hookup.notice.say(sentence)

    def open_trace(self, path: Path) -> None:
        """Open a trace in Review."""
        self.tabs.setCurrentWidget(self.review)
        self.review.open(path)

    def ask_trace(self) -> None:
        """Ask which trace to open."""
        recent = self.memory.recent
        folder = str(recent[0].parent) if recent else str(Path.home())
        chosen, _ = QFileDialog.getOpenFileName(
            self,
            tr("Open a trace"),
            folder,
            tr("Traces") + f" ({TRACES});;" + tr("All files") + " (*)",
        )
        if chosen:
            self.open_trace(Path(chosen))

    def renew_title(self) -> None:
        """The window's title, and whether what is shown is simulated."""
        is_simulated = self.feed is not None and self.feed.simulated
        shows = self.tabs.shows_simulated(is_simulated=is_simulated)
        self.simulated.show_state(is_simulated=is_simulated, shows_simulated=shows)
        parts = [tr("SIMULATED")] if shows else []
        if self.tabs.is_current("review") and self.review.opened is not None:
            parts.append(self.review.opened.title)
        self.setWindowTitle(" · ".join([*parts, "Gaugebench"]))

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802 - Qt's name
        """Ask while a record is running; end what this window started."""
        if self.feed is not None and self.feed.record_state is not None and not self._may_close():
            event.ignore()
            return
        self.memory.keep_place(self.saveGeometry())
        self.detach()
        if self.tabs.is_built("live"):
            self.live.large.close()
        self.ledger.end()
        self.workers.close()
        if self.tabs.is_built("worksheet"):
            self.worksheet.job.close()
        self.link.end()  # seals a record that runs
        super().closeEvent(event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:  # noqa: N802 - Qt's name
        """Take a file that is dragged in."""
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:  # noqa: N802 - Qt's name
        """Open a file that was dropped."""
        files = [u.toLocalFile() for u in event.mimeData().urls() if u.isLocalFile()]
        if files:
            self.open_trace(Path(files[0]))

    def _may_close(self) -> bool:
        answer = QMessageBox.question(
            self,
            tr("A record is running"),
            tr("A record is running. Seal it and close?"),
            QMessageBox.StandardButton.Yes | QMessageBox.StandardButton.No,
            QMessageBox.StandardButton.No,
        )
        return answer == QMessageBox.StandardButton.Yes

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        """The places out of sight are built once the window is painted."""
        super().showEvent(event)
        QTimer.singleShot(AFTER_PAINT_MS, self.tabs, self.tabs.build_rest)

    def _make_hookup(self) -> HookupPlace:
        from gaugebench.desk.hookup.place import HookupPlace

        made = HookupPlace(self.units, self.theme, self.workers, self.memory, self._bench)
        made.connect_asked.connect(self.connect_kit)
        made.disconnect_asked.connect(self.disconnect_kit)
        made.folder_chosen.connect(self.keep_folder)
        made.visit_changed.connect(self._hand_over)
        made.sheet_now = self._sheet_now
        self.ledger.room_told.connect(lambda words: made.show_room(self.folder, words))
        made.show_room(self.folder, self.ledger.disk.text())
        return made

    def _make_live(self) -> LivePlace:
        from gaugebench.desk.live.place import LivePlace

        made = LivePlace(self.units, self.theme, self.workers)
        made.recorded.connect(self._recorded)
        made.leader.window.pressed.connect(self._operator_key)
        if self.tabs.is_built("worksheet"):
            self._link(made, self.worksheet)
        return made

    def _make_review(self) -> ReviewPlace:
        from gaugebench.desk.review.place import ReviewPlace
        from gaugebench.desk.review.recipes import Recipes

        made = ReviewPlace(self.units, self.theme, self.workers, Recipes(self.memory))
        made.opened_trace.connect(self._opened)
        made.open_asked.connect(self.ask_trace)
        return made

    def _make_compare(self) -> ComparePlace:
        from gaugebench.desk.compare.place import ComparePlace

        made = ComparePlace(self.units, self.theme, self.workers)
        made.changed.connect(self.renew_title)
        return made

    def _make_worksheet(self) -> WorksheetPlace:
        from gaugebench.desk.worksheet.place import WorksheetPlace

        made = WorksheetPlace(self.memory, self.units, self.workers)
        made.in_review = lambda: self.review.opened
        made.hooked_up.kit_now = lambda: self.feed.kit if self.feed else None
        made.hooked_up.done = lambda: self.hookup.visit.events
        made.job_changed.connect(self.renew_title)
        made.job_changed.connect(self._follow_sheet)
        made.changed.connect(self._particulars_changed)
        made.open_asked.connect(self.open_trace)
        made.beside.asked.connect(self._lay_beside)
        if self.tabs.is_built("live"):
            self._link(self.live, made)
        return made

    def _lay_beside(self, both: BothWays) -> None:
        self.tabs.setCurrentWidget(self.compare)
        self.compare.lay_beside(both)

    def _sheet_now(self) -> Sheet | None:
        """The machine sheet of the job that is open."""
        if not self.tabs.is_built("worksheet") or self.worksheet.job.sheet is None:
            return None
        return self.worksheet.job.sheet.state.sheet

    def _settings_now(self) -> Settings | None:
        """What figures go by: the control sense of the machine sheet, where a job is open."""
        sheet = self._sheet_now()
        if sheet is None:
            return None
        from gaugebench.procedure.sheet import settings

        return settings(sheet)

    def _follow_sheet(self) -> None:
        settings = self._settings_now()
        if self.link.session is not None and settings is not None:
            self.link.session.set_settings(settings)

    def _hand_over(self) -> None:
        """What was done in Hook-up belongs in the job that is open."""
        if self.tabs.is_built("worksheet"):
            self.worksheet.hooked_up.hand_over()

    def _link(self, live: LivePlace, worksheet: WorksheetPlace) -> None:
        """Let Live know which check waits, and have it look again when the job changes."""
        from gaugebench.desk.live.link import WorksheetLink

        live.leader.link = WorksheetLink(worksheet)
        live.side.exercise.readings = live.leader.link.readings
        worksheet.job.changed.connect(live.ask)
        live.ask()

    def _operator_key(self, event: QKeyEvent) -> None:
        if sequence_of(event) == remembered(self.memory):
            self.live.press_button()

    def _recorded(self, path: Path) -> None:
        self.worksheet.add_trace(path)
        self.open_trace(path)

    def _particulars_changed(self, found: Particulars) -> None:
        self.live.particulars = found

    def _keep_unit(self) -> None:
        self.memory.keep("pressure", self.units.shown.pressure)

    def _place_changed(self) -> None:
        self.renew_title()
        self.menus.enable_for_place()

    def _opened(self, opened: Opened) -> None:
        if opened.path is not None:
            self.memory.opened(opened.path)
            self.menus.renew_recent()
        self.compare.take(opened)
        self.worksheet.trace_opened(opened)
        self.renew_title()

    def _restore(self) -> None:
        place = self.memory.place
        if place is None or not self.restoreGeometry(place):
            self.resize(1600, 900)

    def _lay_out(self) -> None:
        self.body = QWidget()
        column = QVBoxLayout(self.body)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.simulated)
        column.addWidget(self.leftovers)
        column.addWidget(self.tabs, 1)
        column.addWidget(self.ledger)
        self.setCentralWidget(self.body)
