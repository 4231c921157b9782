"""Beside the picture: what happened, and with a practice machine its levers, screws, exercises."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QTabWidget

from gaugebench.desk.live.byhand import machine_of
from gaugebench.desk.live.feed import Feed
from gaugebench.desk.live.happenings import Happenings
from gaugebench.desk.live.machine import CabPane, ScrewPane, Scrolled
from gaugebench.desk.live.practice import ExercisePane
from gaugebench.desk.live.work import Work
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers

if TYPE_CHECKING:
    from gaugebench.simulate.source import MachineSource


class Side(QTabWidget):
    """One tab on a machine; four where the machine is practised on."""

    def __init__(self, theme: Theme, workers: Workers) -> None:
        super().__init__()
        self.setAccessibleName(tr("Beside the picture"))
        self.tabBar().setProperty("narrow", True)  # noqa: FBT003 - Qt takes it so
        self.happenings = Happenings()
        self.cab = CabPane(theme)
        self.screws = ScrewPane()
        self.exercise = ExercisePane(workers)
        self.addTab(self.happenings, tr("Marks"))
        self._practice = (
            (Scrolled(self.cab, tr("Levers and engine")), tr("Levers")),
            (Scrolled(self.screws, tr("Screws and pins")), tr("Screws")),
            (Scrolled(self.exercise, tr("Exercise")), tr("Exercise")),
        )
        for page, _ in self._practice:
            page.setParent(self)
            page.hide()
        self.exercise.begun = self._begun

    def attach(self, feed: Feed | None) -> None:
        """Offer levers where this feed's machine has some."""
        self.show_machine(machine_of(feed))

    def show_machine(self, machine: MachineSource | None) -> None:
        """Levers, screws and exercises of this machine; None: it has none of them."""
        is_running = self.exercise.show_machine(machine)
        self.cab.show_machine(machine)
        self.screws.show_machine(machine, is_known=is_running)
        while self.count() > 1:
            page = self.widget(1)
            self.removeTab(1)
            if page is not None:
                page.hide()
        if machine is not None:
            for page, title in self._practice:
                self.addTab(page, title)
            self.setCurrentIndex(1)
        has_tabs = machine is not None
        self.tabBar().setVisible(has_tabs)
        # The Tab key would stop for ever at tabs that are not there.
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus if has_tabs else Qt.FocusPolicy.NoFocus)

    def renew(self, work: Work | None, shown: Shown) -> None:
        """Out of reach is what the state of the work forbids."""
        self.cab.renew(work, shown)
        self.screws.renew(work)
        self.exercise.show_in(shown)

    def let_go(self) -> None:
        """Nobody holds a lever any more, unless it stays where it was put."""
        for lever in self.cab.levers.values():
            if not lever.stays:
                lever.let_go()

    def _begun(self) -> None:
        machine = self.exercise.machine
        self.cab.show_machine(machine)
        self.screws.show_machine(machine)
