"""The sources of a kit: those in it, and how one is added."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk import words
from gaugebench.desk.buttons import button
from gaugebench.desk.hookup.draft import Draft
from gaugebench.desk.hookup.parts import heading, said
from gaugebench.desk.scale import touch
from gaugebench.desk.words import tr
from gaugebench.desk.work import Workers
from gaugebench.errors import KitError

if TYPE_CHECKING:
    from gaugebench.acquire.ports import PortInfo
    from gaugebench.desk.hookup.optionform import OptionForm
    from gaugebench.driver import Driver

LOOK_EVERY_MS = 2000
FIRST_MS = 100
"""How long ports and drivers wait for the window to be painted: loading drivers delays it."""


class SourcesPane(QWidget):
    """Ports as the system sees them, looked at again every two seconds; sources; a new source."""

    changed = Signal()
    trouble = Signal(str)
    ports_changed = Signal(list)
    """The names of the ports that are there now."""

    def __init__(self, draft: Draft, workers: Workers) -> None:
        super().__init__()
        self.draft, self.workers = draft, workers
        self._drivers: tuple[Driver[Any], ...] = ()
        self.form: OptionForm | None = None
        self._ports: tuple[PortInfo, ...] = ()
        self._is_looking = False
        self._has_looked = False
        self._new: set[str] = set()
        self.ports = _list(tr("Serial ports found"))
        self.sources = _list(tr("Sources of the kit"))
        self.driver = QComboBox()
        self.driver.setAccessibleName(tr("What speaks on the wire"))
        self.count = QComboBox()
        self.count.addItems([str(n) for n in range(1, 33)])
        self.count.setCurrentText("5")
        self.count.setAccessibleName(tr("How many inputs"))
        self.add_button = button(tr("Add source"), tr("Add a source with these options"))
        self.remove_button = button(tr("Remove"), tr("Remove the chosen source"))
        self._holder = QVBoxLayout()
        for part in (self.ports, self.sources):
            part.setFixedHeight(2 * touch() + 12)
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_EVERY_MS)
        self._timer.timeout.connect(self.look)
        self._first = QTimer(self, interval=FIRST_MS, singleShot=True)
        self._first.timeout.connect(self._begin)
        self._lay_out()
        self.driver.currentIndexChanged.connect(self._driver_changed)
        self.add_button.clicked.connect(self.add)
        self.remove_button.clicked.connect(self.remove)
        self.ports.currentTextChanged.connect(self._port_chosen)

    def set_draft(self, draft: Draft) -> None:
        """Show the sources of another kit."""
        self.draft = draft
        self.renew()

    def renew(self) -> None:
        """The sources as they stand."""
        self.sources.clear()
        for source in self.draft.data["source"]:
            port = source.get("options", {}).get("port", "")
            count = len(source["channel"])
            text = tr("{name}: {driver}, {count} inputs", count=count, **_names(source))
            self.sources.addItem(f"{text}  {port}".rstrip())
        self.sources.setCurrentRow(self.sources.count() - 1)
        self.remove_button.setEnabled(self.sources.count() > 0)

    def look(self) -> None:
        """Look which ports there are, off this thread."""
        if not self._is_looking:
            self._is_looking = True
            self.workers.run(_look, self._found, self.trouble.emit, is_aside=True)

    def add(self) -> None:
        """Add what the form says."""
        if self.form is None:
            return
        try:
            options = self.form.values()
        except KitError as fault:
            self.trouble.emit(str(fault))
            return
        driver = self._drivers[self.driver.currentIndex()]
        count = int(self.count.currentText())
        self.draft.add_source(driver.name, options, count, simulated=driver.simulated)
        self.renew()
        self.changed.emit()

    def remove(self) -> None:
        """Remove the chosen source."""
        row = self.sources.currentRow()
        if row >= 0:
            self.draft.remove_source(row)
            self.renew()
            self.changed.emit()

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        """Ports come and go while someone looks."""
        super().showEvent(event)
        self._first.start()
        self._timer.start()

    def hideEvent(self, event: QHideEvent) -> None:  # noqa: N802 - Qt's name
        """No looking while nobody looks."""
        super().hideEvent(event)
        self._first.stop()
        self._timer.stop()

    def _begin(self) -> None:
        if not self._drivers:
            self.workers.run(_find_drivers, self._drivers_found, self.trouble.emit, is_aside=True)
        self.look()

    def _drivers_found(self, found: tuple[tuple[Driver[Any], ...], tuple[str, ...]]) -> None:
        drivers, faults = found
        if self._drivers:
            return
        # Most boards write lines of text, so that one is offered first.
        drivers = tuple(sorted(drivers, key=lambda d: d.name != "text-lines"))
        self._drivers = drivers
        self.driver.addItems([d.name for d in drivers])
        for fault in faults:
            self.trouble.emit(fault)

    def _found(self, ports: tuple[PortInfo, ...]) -> None:
        self._is_looking = False
        if ports == self._ports and self.ports.count():
            return
        before, now = {p.device for p in self._ports}, {p.device for p in ports}
        # What was there when the desk was opened is not new; what comes later is the kit's.
        self._new = ((self._new | (now - before)) & now) if self._has_looked else set()
        self._has_looked = True
        self._ports = ports
        chosen = self._newest(now - before)
        self.ports.blockSignals(True)  # noqa: FBT003 - Qt takes it so
        self.ports.clear()
        for port in ports:
            self.ports.addItem(_port_words(port, is_new=port.device in self._new))
        if not ports:
            self.ports.addItem(tr("No serial port found; plug the kit in."))
        self.ports.blockSignals(False)  # noqa: FBT003 - Qt takes it so
        if self.form is not None:
            self.form.set_ports([p.device for p in ports])
        if chosen is not None:
            self.ports.setCurrentRow(chosen)
        self.ports_changed.emit([p.device for p in ports])

    def _newest(self, came: set[str]) -> int | None:
        """The row of the one port that was just plugged in, so that it is chosen by itself."""
        fresh = came & self._new
        rows = [n for n, port in enumerate(self._ports) if port.device in fresh]
        return rows[0] if len(rows) == 1 else None

    def _port_chosen(self, _text: str) -> None:
        row = self.ports.currentRow()
        box = self.form.fields.get("port") if self.form is not None else None
        if isinstance(box, QComboBox) and 0 <= row < len(self._ports):
            box.setEditText(self._ports[row].device)

    def _driver_changed(self, index: int) -> None:
        if not 0 <= index < len(self._drivers):
            return
        from gaugebench.desk.hookup.optionform import OptionForm

        driver = self._drivers[index]
        summary = words.said(driver.summary)
        self.driver.setToolTip(summary)
        self.summary.setText(summary)
        if self.form is not None:
            self._holder.removeWidget(self.form)
            self.form.deleteLater()
        self.form = OptionForm(driver.options, [p.device for p in self._ports])
        self._holder.addWidget(self.form)

    def _lay_out(self) -> None:
        self.summary = said()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(heading(tr("Sources of the kit")))
        column.addWidget(self.sources)
        column.addWidget(self.remove_button)
        column.addWidget(heading(tr("Ports found")))
        column.addWidget(self.ports)
        column.addWidget(heading(tr("New source")))
        row = QHBoxLayout()
        row.addWidget(self.driver, 1)
        row.addWidget(QLabel(tr("inputs")))
        row.addWidget(self.count)
        column.addLayout(row)
        column.addWidget(self.summary)
        column.addLayout(self._holder)
        column.addWidget(self.add_button)
        column.addStretch(1)


def _find_drivers() -> tuple[tuple[Driver[Any], ...], tuple[str, ...]]:
    """The drivers and what is wrong with those left out; imports the plugins, off the window."""
    from gaugebench.acquire.registry import all_drivers, troubles

    return all_drivers(), tuple(str(fault) for fault in troubles())


def _look() -> tuple[PortInfo, ...]:
    from gaugebench.acquire.ports import list_ports

    return list_ports()


def _names(source: dict[str, Any]) -> dict[str, object]:
    return {"name": source["name"], "driver": source["driver"]}


def _port_words(port: PortInfo, *, is_new: bool) -> str:
    known = ", ".join(p for p in (port.description, port.serial) if p)
    text = f"{port.device}  {known}".rstrip()
    if is_new:
        text = tr("{port}  just plugged in", port=text)
    return f"{text}\n{port.trouble}" if port.trouble else text


def _list(says: str) -> QListWidget:
    made = QListWidget()
    made.setAccessibleName(says)
    made.setWordWrap(True)
    return made
