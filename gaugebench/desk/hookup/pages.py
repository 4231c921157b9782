"""The widgets of the place and how they are laid out: a page for each step beside the table."""

from __future__ import annotations

from collections.abc import Collection

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFrame,
    QScrollArea,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.hookup.channelform import ChannelForm
from gaugebench.desk.hookup.connectpage import ConnectPage
from gaugebench.desk.hookup.draft import Draft, Place
from gaugebench.desk.hookup.fields import Part
from gaugebench.desk.hookup.fitpage import FitPage
from gaugebench.desk.hookup.kitpage import KitPage
from gaugebench.desk.hookup.parts import heading
from gaugebench.desk.hookup.portspage import PortsPage
from gaugebench.desk.hookup.rangepage import RangePage
from gaugebench.desk.hookup.releasepage import ReleasePage
from gaugebench.desk.hookup.shelf import Shelf
from gaugebench.desk.hookup.sourcebar import SourceBar
from gaugebench.desk.hookup.sources import SourcesPane
from gaugebench.desk.hookup.stages import Stage
from gaugebench.desk.hookup.stepbar import StepBar
from gaugebench.desk.hookup.table import NOW, PortTable
from gaugebench.desk.hookup.visit import ZeroTaken
from gaugebench.desk.hookup.workbench import Workbench
from gaugebench.desk.names import role_title
from gaugebench.desk.notice import Notice
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers
from gaugebench.model.role import Role
from gaugebench.quantity import Dimension

_PARTS = {
    Stage.KIT: (Part.PORT, Part.SIGNAL, Part.TRANSDUCER),
    Stage.RANGES: (Part.PORT, Part.TRANSDUCER),
    Stage.FIT: (Part.FITTING,),
}
"""Which parts of a channel's form a step needs; the others need none."""
_BEFORE = {Stage.KIT, Stage.RANGES, Stage.FIT}
"""Steps in which nothing is connected yet."""
PAGE_PX, FORM_PX = 330, 330


class Pages:
    """All that is in the place; it decides nothing."""

    def __init__(
        self, place: QWidget, theme: Theme, workers: Workers, shelf: Shelf, draft: Draft
    ) -> None:
        self.notice = Notice()
        self.bar = StepBar()
        self.advice = heading("")
        self.sources = SourcesPane(draft, workers)
        self.kit = KitPage(shelf, self.sources)
        self.ranges = RangePage()
        self.fit = FitPage()
        self.connecting = ConnectPage()
        self.ports = PortsPage()
        self.release = ReleasePage()
        self.table = PortTable(theme)
        self.sourcebar = SourceBar()
        self.form = ChannelForm()
        self._stack = QStackedWidget()
        self._by_stage: dict[Stage, QWidget] = {
            Stage.KIT: self.kit,
            Stage.RANGES: self.ranges,
            Stage.FIT: self.fit,
            Stage.ZEROS: self.connecting,
            Stage.PORTS: self.ports,
            Stage.RELEASE: self.release,
        }
        self._form_area = _scrolled(self.form)
        self._lay_out(place)
        self.show_stage(Stage.KIT)
        self.form.show_channel(draft, None)

    @property
    def stage(self) -> Stage:
        """The step in sight."""
        return self.bar.current

    @property
    def is_fitted(self) -> bool:
        """Whether every step of fitting is done."""
        return self.fit.steps.list.is_done

    @property
    def is_let_go(self) -> bool:
        """Whether every step of the release is done."""
        return self.release.steps.list.is_done

    def show_stage(self, stage: Stage) -> None:
        """Bring a step's page, and the parts of the form that it needs, into sight."""
        self.bar.show_stage(stage)
        self._stack.setCurrentIndex(list(Stage).index(stage))
        parts = _PARTS.get(stage, ())
        self.table.show_only(with_now=stage not in _BEFORE, with_noise=not parts)
        self._form_area.setVisible(bool(parts))
        if parts:
            self.form.show_parts(parts)

    def take_over(self, old: Pages) -> None:
        """Show what other pages showed: what was typed, ticked, and in sight."""
        self.kit.name.setText(old.kit.name.text())
        self.ranges.highest.setText(old.ranges.highest.text())
        self.fit.steps.take_over(old.fit.steps)
        self.release.steps.take_over(old.release.steps)
        self.connecting.known.setText(old.connecting.known.text())
        self.show_stage(old.stage)

    def show_channel(self, draft: Draft, place: Place | None, row: int) -> None:
        """Show a channel in the form."""
        title = " ".join(self.table.text(row, c) for c in range(NOW - 1)) if place else ""
        self.form.show_channel(draft, place, title)

    def show_advice(self, words: str) -> None:
        """What to do now."""
        if self.advice.text() != words:
            self.advice.setText(words)
            self.advice.setAccessibleName(words)

    def enable(self, bench: Workbench) -> None:
        """What can be pressed as the bench stands."""
        is_open, has_kit = bench.feed is not None, bench.draft.kit is not None
        self.connecting.connect_button.setEnabled(has_kit and (not is_open or bench.is_changed))
        self.connecting.connect_button.setText(
            tr("Connect again") if bench.is_changed else tr("Connect")
        )
        for part in (self.kit.save_button, self.kit.save_as_button):
            part.setEnabled(has_kit)
        for part in (
            self.connecting.zero_button,
            self.connecting.known_button,
            self.ports.wrong_button,
            self.release.zero_button,
            self.release.disconnect_button,
        ):
            part.setEnabled(is_open)
        if not is_open:
            self.release.show_release(None)

    def show_zeros(self, zeros: Collection[ZeroTaken], shown: Shown) -> None:
        """What the ports read at zero: before in the table and counted here, after one by one."""
        before = sum(zero.moment == "before" for zero in zeros)
        words = tr("{count} zeros taken; the table says how far off each was.", count=before)
        self.connecting.zeros.setText(words if before else "")
        lines = [
            tr("{port} reads {value}", port=role_title(Role(zero.role)),
               value=shown.text(zero.reading_pa, Dimension.PRESSURE, 2))
            for zero in zeros if zero.moment == "after"
        ]  # fmt: skip
        self.release.zeros.setText("\n".join(lines))

    def _lay_out(self, place: QWidget) -> None:
        for stage in Stage:
            self._stack.addWidget(_scrolled(self._by_stage[stage]))
        middle = QWidget()
        column = QVBoxLayout(middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.table, 1)
        column.addWidget(self.sourcebar)
        split = QSplitter()
        for part, least in ((self._stack, PAGE_PX), (middle, 420), (self._form_area, FORM_PX)):
            split.addWidget(part)
            part.setMinimumWidth(least)
        split.setChildrenCollapsible(False)
        split.setStretchFactor(1, 1)
        split.setSizes([400, 820, 360])
        page = QVBoxLayout(place)
        page.addWidget(self.notice)
        page.addWidget(self.bar)
        page.addWidget(self.advice)
        page.addWidget(split, 1)


def _scrolled(page: QWidget) -> QScrollArea:
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setWidget(page)
    return area
