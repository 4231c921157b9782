"""The Hook-up place: its steps, the table of the ports, and what the step in sight needs."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QWidget

from gaugebench.desk.hookup.actions import Actions, wall_time
from gaugebench.desk.hookup.calibration import USUAL_MONTHS
from gaugebench.desk.hookup.draft import Draft
from gaugebench.desk.hookup.pages import Pages
from gaugebench.desk.hookup.sheetside import highest_pa, levers
from gaugebench.desk.hookup.shelf import Shelf
from gaugebench.desk.hookup.stages import Stage
from gaugebench.desk.hookup.verdicts import advice, marks, said_of
from gaugebench.desk.hookup.visit import Visit
from gaugebench.desk.hookup.workbench import Workbench, newest_first
from gaugebench.desk.live.feed import Feed
from gaugebench.desk.memory import Memory
from gaugebench.desk.notice import Notice
from gaugebench.desk.theme import Theme
from gaugebench.desk.units import Units
from gaugebench.desk.words import told, tr
from gaugebench.desk.work import Workers
from gaugebench.errors import KitError
from gaugebench.quantity import Dimension

if TYPE_CHECKING:
    from gaugebench.model.kit import Kit
    from gaugebench.model.sheet import Sheet

CALIBRATION = "calibration months"
LOOK_MS = 250
WATCH_MS = 2000
"""How often the ports are looked at while the place is out of sight: how high they have read."""


class HookupPlace(QWidget):
    """Choose or make a kit, see that it may be fitted, connect it, and let it go again."""

    connect_asked = Signal(object)
    """Open this `Kit`."""
    disconnect_asked = Signal()
    folder_chosen = Signal(Path)
    """Records go there from now on."""
    visit_changed = Signal()
    """Something was done that belongs in the job."""

    def __init__(
        self,
        units: Units,
        theme: Theme,
        workers: Workers,
        memory: Memory | None = None,
        bench: Workbench | None = None,
    ) -> None:
        super().__init__()
        self.units, self.workers = units, workers
        self.bench = bench or Workbench()
        self.bench.visit.heard = self.visit_changed.emit
        self.memory = memory or Memory()
        self.shelf = Shelf(self.memory)
        self.path: Path | None = None
        """The file of the kit in sight."""
        self.sheet_now: Callable[[], Sheet | None] = lambda: None
        """The machine sheet of the job that is open."""
        self.pages = Pages(self, theme, workers, self.shelf, self.draft)
        self.deeds = Actions(self)
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.look)
        months = self.memory.text(CALIBRATION, "")
        self.pages.ranges.hold_good(int(months) if months.isdigit() else USUAL_MONTHS)
        self._connect()
        self.renew()

    @property
    def draft(self) -> Draft:
        """The kit as it stands."""
        return self.bench.draft

    @property
    def feed(self) -> Feed | None:
        """The kit that is open."""
        return self.bench.feed

    @property
    def notice(self) -> Notice:
        """Where troubles are said."""
        return self.pages.notice

    @property
    def visit(self) -> Visit:
        """What was done here, for the job: `visit.events`, and `visit.zeros` by role and moment."""
        return self.bench.visit

    def use(self, kit: Kit, path: Path | None = None) -> None:
        """Show a kit, and begin another visit with it; path: its file."""
        self.bench.use(kit)
        self.bench.visit.heard = self.visit_changed.emit
        self.path = path
        self.pages.kit.name.setText(kit.name)
        self.pages.sources.set_draft(self.draft)
        self.renew()

    def open_kit(self, path: Path) -> None:
        """Open a kit file; what is wrong with it is said in the window."""
        from gaugebench.model.kit import read_kit

        if self.feed is not None:
            self.pages.notice.say(tr("Let the kit go before another one is chosen."))
            return
        try:
            self.use(read_kit(path), path)
        except KitError as fault:
            self.pages.notice.say(told(fault))
            return
        self.pages.notice.clear()
        self.shelf.used(path)
        self.pages.kit.renew()

    def attach(self, feed: Feed | None) -> None:
        """A kit was opened, or closed."""
        if feed is not None and feed.kit is not None and feed.kit != self.draft.kit:
            self.use(feed.kit)
        self.bench.attach(feed)
        self.renew()
        self._pace()

    def take_over(self, old: HookupPlace) -> None:
        """Stand as another place stood, whose bench this one works on already."""
        self.path = old.path
        self.pages.take_over(old.pages)
        self.pages.sources.set_draft(self.draft)
        self.renew()
        self._pace()

    def show_stage(self, stage: Stage) -> None:
        """Bring a step into sight."""
        self.pages.show_stage(stage)
        self.renew()

    def renew(self) -> None:
        """Everything as it stands."""
        pages, bench, shown = self.pages, self.bench, self.units.shown
        self.draft.data["name"] = pages.kit.name.text().strip() or "kit"
        self.draft.check()
        self._ask_sheet()
        checks = bench.check_ranges(pages.ranges.highest_pa, shown)
        dates, is_overdue = bench.check_dates(wall_time().date(), pages.ranges.good_months)
        pages.ranges.show_dates(dates, is_overdue=is_overdue)
        placed = bench.placed
        channels = [c for _, c in placed]
        pages.table.show_channels(
            channels, [str(self.draft.channel(p)["input"]) for p, _ in placed], shown
        )
        pages.ranges.show_checks(checks)
        pages.fit.show_checks(checks)
        pages.ports.show_check(bench.ports)
        pages.enable(bench)
        pages.show_zeros(self.visit.zeros.values(), shown)
        self._show_read()

    def look(self) -> None:
        """What changes while one looks; out of sight, only how high the ports read."""
        if self.isVisible():
            self._show_read()
        else:
            self.bench.rests()

    def practise(self) -> None:
        """Connect a simulated kit, to learn on."""
        from gaugebench.simulate.visit import learner_kit

        self.use(learner_kit())
        self.ask_connect()

    def ask_connect(self) -> None:
        """Have the kit opened."""
        self.pages.notice.clear()
        if self.draft.kit is not None:
            self.show_stage(Stage.ZEROS)
            self.connect_asked.emit(self.draft.kit)

    def let_go(self) -> None:
        """Show the way to letting the kit go."""
        self.show_stage(Stage.RELEASE)

    def show_room(self, folder: Path, words: str) -> None:
        """Where records go, and what room there is."""
        self.pages.connecting.show_folder(folder, words)

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        """Values are looked at while someone looks."""
        super().showEvent(event)
        self.renew()
        self._pace()

    def hideEvent(self, event: QHideEvent) -> None:  # noqa: N802 - Qt's name
        """And seldom otherwise."""
        super().hideEvent(event)
        self._pace()

    def _pace(self) -> None:
        if self.feed is None:
            self._timer.stop()
        else:
            self._timer.start(LOOK_MS if self.isVisible() else WATCH_MS)

    def _show_read(self) -> None:
        pages, bench, shown = self.pages, self.bench, self.units.shown
        now = wall_time()
        rests = bench.rests()
        channels = [c for _, c in bench.placed]
        if bench.check_taken_zeros(now):
            pages.show_zeros(self.visit.zeros.values(), shown)
        answered = bench.see_lever()
        pages.ports.show_test(bench.test, may_begin=_passed(bench) and self.feed is not None)
        if answered or not bench.answers:
            pages.ports.show_outcome(newest_first(bench.answers, shown), bench.outcome(now))
        if pages.stage is Stage.RELEASE:
            pages.release.show_release(bench.read_release(shown))
        pages.table.show_values(rests, channels, shown)
        pages.table.show_said(*said_of(pages.stage, bench, shown))
        if self.feed is not None:
            kit = self.draft.data["source"]
            ported = [str(s["name"]) for s in kit if s.get("options", {}).get("port")]
            pages.sourcebar.show_health(self.feed.health(), ported)
        pages.sourcebar.setVisible(self.feed is not None)
        pages.show_advice(advice(pages.stage, bench))
        for stage, mark in marks(bench, pages).items():
            pages.bar.mark(stage, mark)

    def _ask_sheet(self) -> None:
        sheet = self.sheet_now()
        top = highest_pa(sheet) if sheet is not None else None
        text = self.units.shown.text(top, Dimension.PRESSURE) if top is not None else ""
        self.pages.ranges.by_sheet = lambda: text
        self.pages.ranges.renew()
        found = levers(sheet) if sheet is not None else ()
        self.pages.ports.by_sheet = lambda: found
        self.pages.ports.renew_levers()

    def _keep_months(self) -> None:
        self.memory.keep(CALIBRATION, str(self.pages.ranges.good_months))

    def _choose(self, row: int) -> None:
        placed = self.bench.placed
        place = placed[row][0] if 0 <= row < len(placed) else None
        self.pages.show_channel(self.draft, place, row)

    def _let_go_now(self) -> None:
        if self.feed is not None and self.feed.record_state is not None:
            self.pages.notice.say(tr("A record is running; stop it before letting the kit go."))
            return
        self.disconnect_asked.emit()

    def _connect(self) -> None:
        pages = self.pages
        pages.bar.chosen.connect(self.show_stage)
        for part in (pages.sources, pages.form, pages.ranges):
            part.changed.connect(self.renew)
            part.trouble.connect(pages.notice.say)
        pages.table.currentCellChanged.connect(lambda row, *_: self._choose(row))
        pages.ranges.months.activated.connect(self._keep_months)
        pages.kit.open_asked.connect(self.open_kit)
        pages.kit.save_asked.connect(self.deeds.save)
        pages.kit.name.editingFinished.connect(self.renew)
        pages.kit.practise_button.clicked.connect(self.practise)
        for steps in (pages.fit.steps, pages.release.steps):
            steps.ticked.connect(self.deeds.ticked)
            steps.changed.connect(self._show_read)
        pages.connecting.connect_button.clicked.connect(self.ask_connect)
        pages.connecting.zero_button.clicked.connect(self.deeds.take_zeros)
        pages.connecting.known_button.clicked.connect(self.deeds.check_known)
        pages.connecting.known.returnPressed.connect(self.deeds.check_known)
        pages.connecting.folder_chosen.connect(self.folder_chosen)
        pages.ports.wrong_button.clicked.connect(self.deeds.check_ports)
        pages.ports.lever_asked.connect(self.bench.begin_lever)
        pages.ports.stop_asked.connect(self.bench.stop_lever)
        pages.ports.exchange_asked.connect(self.deeds.exchange)
        pages.release.otherwise.connect(self.deeds.proved_otherwise)
        pages.release.zero_button.clicked.connect(self.deeds.read_after)
        pages.release.disconnect_button.clicked.connect(self._let_go_now)
        pages.sourcebar.port_told.connect(self.deeds.use_port)
        pages.sources.ports_changed.connect(pages.sourcebar.set_ports)
        self.units.changed.connect(self.renew)


def _passed(bench: Workbench) -> bool:
    return bench.ports is not None and bench.ports.passed
