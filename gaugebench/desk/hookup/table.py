"""The channels in the order of the test ports: what each is, what it says now, and one verdict."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QResizeEvent
from PySide6.QtWidgets import QHeaderView, QTableWidget, QTableWidgetItem

from gaugebench.desk.hookup.rest import Rest
from gaugebench.desk.hookup.verdicts import Said
from gaugebench.desk.names import channel_title
from gaugebench.desk.scale import touch
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr
from gaugebench.model.channel import Channel
from gaugebench.quantity import Dimension

HEADS = ("No.", "Input", "Measures", "Transducer", "Now", "Noise")
SHARES = (0.05, 0.10, 0.13, 0.18, 0.11, 0.13, 0.30)
NOW, NOISE, SAID = 4, 5, 6
LEAST_SAID_PX = 140


class PortTable(QTableWidget):
    """One row for each test port. The last column belongs to the step that is in sight."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(0, len(HEADS) + 1)
        self.theme = theme
        self.setAccessibleName(tr("Channels in the order of the test ports"))
        self.setHorizontalHeaderLabels([*(tr(h) for h in HEADS), ""])
        self.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QTableWidget.SelectionBehavior.SelectRows)
        self.setSelectionMode(QTableWidget.SelectionMode.SingleSelection)
        self.setWordWrap(True)
        self.setTabKeyNavigation(False)
        self.verticalHeader().hide()
        self.verticalHeader().setMinimumSectionSize(touch())
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """Every column keeps its share: the verdict must never be out of sight."""
        super().resizeEvent(event)
        self._share_out()

    def show_only(self, *, with_now: bool, with_noise: bool) -> None:
        """Leave out what a step has no use for; the others get its room."""
        self.setColumnHidden(NOW, not with_now)
        self.setColumnHidden(NOISE, not with_noise)
        self._share_out()

    def _share_out(self) -> None:
        seen = [c for c in range(len(SHARES)) if not self.isColumnHidden(c)]
        wide = self.viewport().width()
        unit = wide / sum(SHARES[c] for c in seen)
        # The head of a short column is never cut; the verdict's column gives the room.
        head = self.horizontalHeader()
        widths = {c: max(int(SHARES[c] * unit), head.sectionSizeHint(c)) for c in seen if c != SAID}
        widths[SAID] = max(wide - sum(widths.values()), LEAST_SAID_PX)
        for column, width in widths.items():
            self.setColumnWidth(column, width)
        self.resizeRowsToContents()

    def show_channels(
        self, channels: Sequence[Channel], inputs: Sequence[str], shown: Shown
    ) -> None:
        """Show these channels, without values yet."""
        self.setRowCount(len(channels))
        for row, (channel, name) in enumerate(zip(channels, inputs, strict=True)):
            texts = (str(row + 1), name, channel_title(channel), _span(channel, shown))
            for column, text in enumerate(texts):
                self._set(row, column, text)
        self.resizeRowsToContents()

    def show_values(self, rests: Sequence[Rest], channels: Sequence[Channel], shown: Shown) -> None:
        """Only what changes while one looks: value and noise; nothing where there is no feed."""
        for row in range(self.rowCount()):
            is_read = row < len(rests)
            texts = _now(rests[row], channels[row], shown) if is_read else ("", "")
            for column, text in zip((NOW, NOISE), texts, strict=True):
                self._set(row, column, text)

    def show_said(self, head: str, said: Sequence[Said]) -> None:
        """What the step in sight says of each channel."""
        item = self.horizontalHeaderItem(SAID)
        if item is not None and item.text() != head:
            item.setText(head)
        is_changed = False
        for row in range(self.rowCount()):
            one = said[row] if row < len(said) else Said()
            is_changed |= self._set(row, SAID, one.words)
            self._paint(row, is_stop=one.is_stop)
        if is_changed:
            self.resizeRowsToContents()

    def text(self, row: int, column: int) -> str:
        """What stands in a cell."""
        item = self.item(row, column)
        return item.text() if item is not None else ""

    def _set(self, row: int, column: int, text: str) -> bool:
        item = self.item(row, column)
        if item is None:
            item = QTableWidgetItem()
            # The verdict is not selectable: its colour must stay when its row is chosen.
            more = Qt.ItemFlag.NoItemFlags if column == SAID else Qt.ItemFlag.ItemIsSelectable
            item.setFlags(Qt.ItemFlag.ItemIsEnabled | more)
            self.setItem(row, column, item)
        if item.text() == text:
            return False
        item.setText(text)
        return True

    def _paint(self, row: int, *, is_stop: bool) -> None:
        item = self.item(row, SAID)
        if item is None or item.font().bold() == is_stop:
            return
        item.setBackground(QColor(self.theme.alarm if is_stop else self.theme.panel))
        item.setForeground(QColor(self.theme.on_alarm if is_stop else self.theme.text))
        font = item.font()
        font.setBold(is_stop)
        item.setFont(font)


def _span(channel: Channel, shown: Shown) -> str:
    chain = channel.chain
    span = tr("no range stated")
    if channel.dimension is not Dimension.PRESSURE:
        span = ""
    if chain.range_low is not None and chain.range_high is not None:
        low = shown.number(chain.range_low, channel.dimension)
        span = tr("{low} to {high}", low=low, high=shown.text(chain.range_high, channel.dimension))
    return "\n".join(filter(None, (span, channel.transducer.serial)))


def _now(rest: Rest, channel: Channel, shown: Shown) -> tuple[str, str]:
    more = shown.decimals(channel.dimension) + 1
    noise = shown.text(rest.noise, channel.dimension, more)
    is_pressure = channel.dimension is Dimension.PRESSURE
    return shown.text(rest.mean, channel.dimension), f"± {noise}" if is_pressure else ""
