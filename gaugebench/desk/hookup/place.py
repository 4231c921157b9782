"""The Hook-up place."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QScrollArea,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.hookup.channelform import ChannelForm
from gaugebench.desk.hookup.draft import Draft, Place
from gaugebench.desk.hookup.ranges import Verdict, known_pressure
from gaugebench.desk.hookup.rest import Rest, at_rest, zero_of, zero_record
from gaugebench.desk.hookup.sources import SourcesPane
from gaugebench.desk.hookup.table import PortRow, PortTable
from gaugebench.desk.hookup.toml import save_kit
from gaugebench.desk.live.feed import Feed
from gaugebench.desk.notice import Notice
from gaugebench.desk.theme import Theme
from gaugebench.desk.units import Units
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers
from gaugebench.errors import KitError, UnitError
from gaugebench.model.channel import Channel
from gaugebench.quantity import Dimension, parse

if TYPE_CHECKING:
    from gaugebench.model.kit import Kit

LOOK_MS = 400


class HookupPlace(QWidget):
    """Choose or make a kit, see that it may be connected, and connect it."""

    connect_asked = Signal(object)
    """Open this `Kit`."""
    disconnect_asked = Signal()

    def __init__(self, units: Units, theme: Theme, workers: Workers) -> None:
        super().__init__()
        self.units, self.workers = units, workers
        self.feed: Feed | None = None
        self.draft = Draft()
        self._notes: dict[int, str] = {}
        self.notice = Notice()
        self.advice = QLabel()
        self.advice.setWordWrap(True)
        self.sources = SourcesPane(self.draft, workers)
        self.table = PortTable(theme)
        self.form = ChannelForm()
        self.name = _line(tr("Name of the kit"), "kit")
        self.highest = _line(tr("Highest relief of the machine"), tr("for example 350 bar"))
        self.known = _line(tr("Known pressure"), tr("for example 100 bar"))
        self.open_button = button(tr("Open kit…"), tr("Open a kit file (Ctrl+K)"))
        self.save_button = button(tr("Save kit…"), tr("Save the kit to a file"))
        self.practise_button = button(tr("Practise"), tr("Open a simulated kit to practise on"))
        self.connect_button = button(tr("Connect"), tr("Open the kit and read it"))
        self.disconnect_button = button(tr("Let go"), tr("Close the kit"))
        self.zero_button = button(tr("Take zeros"), tr("Take the zero of every released pressure"))
        self.known_button = button(
            tr("Check"), tr("Compare the chosen port with the known pressure")
        )
        self.wrong_button = button(
            tr("Wrong-port check"), tr("At low idle in neutral, before the first load")
        )
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_MS)
        self._timer.timeout.connect(self.look)
        self._lay_out()
        self._connect()
        self.renew()

    def use(self, kit: Kit) -> None:
        """Show a kit."""
        self.draft = Draft.of(kit)
        self.name.setText(kit.name)
        self.sources.set_draft(self.draft)
        self._notes = {}
        self.renew()

    def open_kit(self, path: Path) -> None:
        """Open a kit file; what is wrong with it is said in the window."""
        from gaugebench.model.kit import read_kit

        try:
            self.use(read_kit(path))
        except KitError as fault:
            self.notice.say(str(fault))

    def attach(self, feed: Feed | None) -> None:
        """A kit was opened, or closed."""
        self.feed = feed
        if feed is not None and feed.kit is not None and feed.kit != self.draft.kit:
            self.use(feed.kit)
        self.renew()
        if feed is not None and self.isVisible():
            self._timer.start()
        if feed is None:
            self._timer.stop()

    def renew(self) -> None:
        """Everything as it stands."""
        self.draft.data["name"] = self.name.text().strip() or "kit"
        self.draft.check()
        self.table.show_rows(self._rows(), self._highest(), self.units.shown)
        is_stopped = any(c.verdict is Verdict.STOP for c in self.table.checks)
        is_open = self.feed is not None
        has_kit = self.draft.kit is not None
        self.connect_button.setEnabled(has_kit and not is_open)
        self.save_button.setEnabled(has_kit)
        self.disconnect_button.setEnabled(is_open)
        for each in (self.zero_button, self.known_button, self.wrong_button):
            each.setEnabled(is_open)
        self.advice.setText(self._advice(is_stopped=is_stopped))

    def look(self) -> None:
        """Value and noise at rest."""
        if self.feed is not None:
            channels = [c for stream in self.feed.streams for c in stream.channels]
            self.table.show_rest(at_rest(self.feed), channels, self.units.shown)

    def take_zeros(self) -> None:
        """Take the zero of every pressure that is at rest near zero; say of each what was done."""
        if self.feed is None or self.feed.record_state is not None:
            self.notice.say(tr("Stop the record before taking zeros."))
            return
        rests = at_rest(self.feed)
        now = datetime.now()  # noqa: DTZ005 - the wall's time, as a person notes it
        taken = 0
        for index, (place, channel) in enumerate(self._placed()):
            rest = rests[index] if index < len(rests) else Rest()
            zero, words = zero_of(channel, rest, self.units.shown)
            self._notes[index] = words
            if zero is not None:
                self.draft.set(place, "zero", f"{zero / 1e5:.4f} bar")
                self.draft.set(place, "zeroed", zero_record(rest, self.units.shown, now))
                taken += 1
        self.renew()
        if taken and self.draft.kit is not None:
            self.connect_asked.emit(self.draft.kit)  # opened anew, so that the zeros count

    def check_known(self) -> None:
        """Compare the chosen port with a pressure that is known."""
        row = self.table.currentRow()
        rests = at_rest(self.feed) if self.feed is not None else []
        if not 0 <= row < len(rests):
            self.notice.say(tr("Choose a port in the table first."))
            return
        try:
            known = parse(self.known.text(), Dimension.PRESSURE)
        except UnitError as fault:
            self.notice.say(str(fault))
            return
        self._notes[row] = known_pressure(rests[row].mean, known, self.units.shown)
        self.renew()

    def check_ports(self) -> None:
        """The wrong-port check: low idle, neutral, before the first load."""
        if self.feed is None:
            return
        from gaugebench.procedure.ports import wrong_ports

        rests = at_rest(self.feed)
        readings = {
            c.role: r.mean
            for c, r in zip(
                (c for stream in self.feed.streams for c in stream.channels), rests, strict=True
            )
            if c.role is not None and c.dimension is Dimension.PRESSURE
        }
        found = wrong_ports(readings, self.units.shown.pressure)
        if found:
            self.notice.say("\n".join(found))
        else:
            self.notice.clear()
            self.advice.setText(tr("Every port reads as such a port does at low idle in neutral."))

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        """Values are looked at while someone looks."""
        super().showEvent(event)
        if self.feed is not None:
            self._timer.start()

    def hideEvent(self, event: QHideEvent) -> None:  # noqa: N802 - Qt's name
        """And not otherwise."""
        super().hideEvent(event)
        self._timer.stop()

    def _placed(self) -> list[tuple[Place, Channel]]:
        places = self.draft.places
        if not places:
            return []
        from gaugebench.model.kit import ChannelEntry

        found = []
        for place in places:
            try:
                entry = ChannelEntry.model_validate(self.draft.channel(place))
            except (ValueError, UnitError):
                continue  # what is wrong with it stands in the advice
            found.append((place, entry.to_channel()))
        return found

    def _rows(self) -> list[PortRow]:
        rests: list[Rest] = at_rest(self.feed) if self.feed is not None else []
        return [
            PortRow(
                channel,
                str(self.draft.channel(place)["input"]),
                rests[index] if index < len(rests) else None,
                self._notes.get(index, ""),
            )
            for index, (place, channel) in enumerate(self._placed())
        ]

    def _highest(self) -> float | None:
        try:
            return parse(self.highest.text(), Dimension.PRESSURE)
        except UnitError:
            return None  # shown as “state the machine's highest relief first”

    def _advice(self, *, is_stopped: bool) -> str:
        if not self.draft.data["source"]:
            return tr("Open a kit, add a source on the left, or practise on a simulated machine.")
        if self.draft.fault:
            return tr("Not a kit yet. {fault}", fault=self.draft.fault)
        if is_stopped:
            return tr("Do not screw on what is marked STOP.")
        if self.feed is None:
            return tr("Engine off and pressure released before any port is opened. Then Connect.")
        return tr(
            "Released and at rest: Take zeros. Running at low idle in neutral: Wrong-port check."
        )

    def _choose(self, row: int) -> None:
        placed = self._placed()
        self.form.show_channel(self.draft, placed[row][0] if 0 <= row < len(placed) else None)

    def _ask_open(self) -> None:
        chosen, _ = QFileDialog.getOpenFileName(
            self, tr("Open a kit"), str(Path.home()), f"{tr('Kits')} (*.toml)"
        )
        if chosen:
            self.open_kit(Path(chosen))

    def _ask_save(self) -> None:
        kit = self.draft.kit
        if kit is None:
            return
        name = str(Path.home() / f"{kit.name}.toml")
        chosen, _ = QFileDialog.getSaveFileName(
            self, tr("Save the kit"), name, f"{tr('Kits')} (*.toml)"
        )
        if not chosen:
            return
        try:
            save_kit(kit, Path(chosen))
        except KitError as fault:
            self.notice.say(str(fault))

    def practise(self) -> None:
        """Connect a simulated kit, to learn on."""
        from gaugebench.simulate.visit import learner_kit

        self.use(learner_kit())
        self._ask_connect()

    def _ask_connect(self) -> None:
        self.notice.clear()
        if self.draft.kit is not None:
            self.connect_asked.emit(self.draft.kit)

    def _connect(self) -> None:
        self.sources.changed.connect(self.renew)
        self.sources.trouble.connect(self.notice.say)
        self.form.changed.connect(self.renew)
        self.table.currentCellChanged.connect(lambda row, *_: self._choose(row))
        self.name.editingFinished.connect(self.renew)
        self.highest.editingFinished.connect(self.renew)
        self.open_button.clicked.connect(self._ask_open)
        self.save_button.clicked.connect(self._ask_save)
        self.practise_button.clicked.connect(self.practise)
        self.connect_button.clicked.connect(self._ask_connect)
        self.disconnect_button.clicked.connect(self.disconnect_asked)
        self.zero_button.clicked.connect(self.take_zeros)
        self.known_button.clicked.connect(self.check_known)
        self.known.returnPressed.connect(self.check_known)
        self.wrong_button.clicked.connect(self.check_ports)
        self.units.changed.connect(self.renew)
        self.form.show_channel(self.draft, None)

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        for widget in (self.open_button, self.save_button, self.practise_button):
            head.addWidget(widget)
        head.addWidget(QLabel(tr("Kit")))
        head.addWidget(self.name, 1)
        head.addWidget(QLabel(tr("Highest relief")))
        head.addWidget(self.highest, 1)
        head.addWidget(self.connect_button)
        head.addWidget(self.disconnect_button)
        foot = QHBoxLayout()
        foot.addWidget(self.zero_button)
        foot.addWidget(self.wrong_button)
        foot.addStretch(1)
        known = QHBoxLayout()
        known.addWidget(QLabel(tr("Known pressure")))
        known.addWidget(self.known, 1)
        known.addWidget(self.known_button)
        middle = QWidget()
        column = QVBoxLayout(middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.table, 1)
        column.addWidget(self.advice)
        column.addLayout(foot)
        column.addLayout(known)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setWidget(self.form)
        split = QSplitter()
        for part, width in ((self.sources, 270), (middle, 420), (area, 330)):
            split.addWidget(part)
            part.setMinimumWidth(width)
        split.setStretchFactor(1, 1)
        split.setSizes([300, 900, 360])
        page = QVBoxLayout(self)
        page.addWidget(self.notice)
        page.addLayout(head)
        page.addWidget(split, 1)


def _line(says: str, example: str) -> QLineEdit:
    made = QLineEdit()
    made.setAccessibleName(says)
    made.setPlaceholderText(example)
    return made
