"""The channels in the order of the test ports: what each is, what it says now, may it be fitted."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QResizeEvent
from PySide6.QtWidgets import QHeaderView, QTableWidget, QTableWidgetItem

from gaugebench.desk.hookup.ranges import RangeCheck, Verdict, check
from gaugebench.desk.hookup.rest import Rest
from gaugebench.desk.names import channel_title
from gaugebench.desk.scale import touch
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr
from gaugebench.model.channel import Channel
from gaugebench.quantity import Dimension

HEADS = ("No.", "Input", "Measures", "Transducer", "Now", "Noise", "Before connecting")
SHARES = (0.06, 0.10, 0.14, 0.19, 0.11, 0.11, 0.29)


@dataclass(frozen=True, slots=True)
class PortRow:
    """One channel as it stands."""

    channel: Channel
    input: str
    rest: Rest | None = None
    note: str = ""


class PortTable(QTableWidget):
    """One row for each test port."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(0, len(HEADS))
        self.theme = theme
        self.checks: list[RangeCheck] = []
        self.setAccessibleName(tr("Channels in the order of the test ports"))
        self.setHorizontalHeaderLabels([tr(h) for h in HEADS])
        self.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QTableWidget.SelectionBehavior.SelectRows)
        self.setSelectionMode(QTableWidget.SelectionMode.SingleSelection)
        self.setWordWrap(True)
        self.verticalHeader().hide()
        self.verticalHeader().setMinimumSectionSize(touch())
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """Every column keeps its share: the verdict must never be out of sight."""
        super().resizeEvent(event)
        wide = self.viewport().width()
        for column, share in enumerate(SHARES):
            self.setColumnWidth(column, int(share * wide))
        self.resizeRowsToContents()

    def show_rows(self, rows: list[PortRow], highest_pa: float | None, shown: Shown) -> None:
        """Show these channels."""
        self.checks = [check(row.channel, highest_pa, shown) for row in rows]
        self.setRowCount(len(rows))
        for index, (row, verdict) in enumerate(zip(rows, self.checks, strict=True)):
            for column, text in enumerate(_texts(index, row, verdict, shown)):
                self._set(index, column, text)
            self._paint(index, verdict)
        self.resizeRowsToContents()

    def show_rest(self, rests: list[Rest], channels: list[Channel], shown: Shown) -> None:
        """Only what changes while one looks: value and noise."""
        for index, (rest, channel) in enumerate(zip(rests, channels, strict=True)):
            if index < self.rowCount():
                for column, text in zip((4, 5), _now(rest, channel, shown), strict=True):
                    self._set(index, column, text)

    def _set(self, row: int, column: int, text: str) -> None:
        item = self.item(row, column)
        if item is None:
            item = QTableWidgetItem()
            # The verdict is not selectable: its colour must stay when its row is chosen.
            is_verdict = column == len(HEADS) - 1
            more = Qt.ItemFlag.NoItemFlags if is_verdict else Qt.ItemFlag.ItemIsSelectable
            item.setFlags(Qt.ItemFlag.ItemIsEnabled | more)
            self.setItem(row, column, item)
        if item.text() != text:
            item.setText(text)

    def _paint(self, row: int, verdict: RangeCheck) -> None:
        item = self.item(row, len(HEADS) - 1)
        if item is None:
            return
        is_stop = verdict.verdict is Verdict.STOP
        item.setBackground(QColor(self.theme.alarm if is_stop else self.theme.panel))
        item.setForeground(QColor(self.theme.on_alarm if is_stop else self.theme.text))
        font = item.font()
        font.setBold(is_stop)
        item.setFont(font)


def _texts(index: int, row: PortRow, verdict: RangeCheck, shown: Shown) -> list[str]:
    channel = row.channel
    chain = channel.chain
    span = tr("no range stated")
    if chain.range_low is not None and chain.range_high is not None:
        low = shown.number(chain.range_low, channel.dimension)
        span = tr("{low} to {high}", low=low, high=shown.text(chain.range_high, channel.dimension))
    if channel.transducer.serial:
        span += f"  {channel.transducer.serial}"
    now = _now(row.rest, channel, shown) if row.rest is not None else ("", "")
    words = " ".join(filter(None, (verdict.words, row.note)))
    return [str(index + 1), row.input, channel_title(channel), span, *now, words]


def _now(rest: Rest, channel: Channel, shown: Shown) -> tuple[str, str]:
    more = shown.decimals(channel.dimension) + 1
    noise = shown.text(rest.noise, channel.dimension, more)
    is_pressure = channel.dimension is Dimension.PRESSURE
    return shown.text(rest.mean, channel.dimension), f"± {noise}" if is_pressure else ""
