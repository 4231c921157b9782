"""What may be set about the analysis; a change takes the figures anew."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QFormLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from gaugebench.analyse.settings import Sense, Settings
from gaugebench.desk.buttons import button
from gaugebench.desk.shown import plain
from gaugebench.desk.words import tr

_SENSES = {
    Sense.AUTO: "taken from the trace",
    Sense.FALLING: "falling control pressure de-strokes",
    Sense.RISING: "rising control pressure de-strokes",
}


class SettingsForm(QWidget):
    """The settings as numbers with their units."""

    apply = Signal(object)
    """Take the figures with these `Settings`."""
    trouble = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.settle = _line(tr("Settling band, % of settled"))
        self.sync = _line(tr("Sync band, %"))
        self.smoothing = _line(tr("Smoothing of the peak, s; empty: from the ripple"))
        self.sense = QComboBox()
        self.sense.setAccessibleName(tr("Control sense"))
        for sense, words in _SENSES.items():
            self.sense.addItem(tr(words), sense)
        self.apply_button = button(
            tr("Take figures anew"), tr("Take the figures with these settings")
        )
        self.usual_button = button(tr("Usual settings"), tr("Back to the usual settings"))
        hint = QLabel(
            tr("IEEE Std 181 takes a share of the step; this takes one of the settled value.")
        )
        hint.setWordWrap(True)
        form = QFormLayout()
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapAllRows)
        form.addRow(tr("Settling band, % of settled"), self.settle)
        form.addRow(tr("Sync band, %"), self.sync)
        form.addRow(tr("Smoothing of the peak, s; empty: from the ripple"), self.smoothing)
        form.addRow(tr("Control sense"), self.sense)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addLayout(form)
        column.addWidget(hint)
        column.addWidget(self.apply_button)
        column.addWidget(self.usual_button)
        column.addStretch(1)
        self.apply_button.clicked.connect(self._apply)
        self.usual_button.clicked.connect(self._usual)
        self.show_settings(Settings())

    def show_settings(self, settings: Settings) -> None:
        """Show these settings."""
        self.settle.setText(plain(100 * settings.settle_share, 1))
        self.sync.setText(plain(100 * settings.sync_share, 1))
        smoothing = settings.smoothing_s
        self.smoothing.setText("" if smoothing is None else plain(smoothing, 4))
        self.sense.setCurrentIndex(self.sense.findData(settings.control_sense))

    def settings(self) -> Settings:
        """What is entered. Raises `ValueError` with what is wrong."""
        return Settings(
            settle_share=_number(self.settle.text()) / 100,
            control_sense=Sense(self.sense.currentData()),
            smoothing_s=_number(self.smoothing.text()) if self.smoothing.text().strip() else None,
            sync_share=_number(self.sync.text()) / 100,
        )

    def _apply(self) -> None:
        try:
            chosen = self.settings()
        except ValueError as fault:
            self.trouble.emit(tr("The settings cannot be used: {fault}.", fault=fault))
        else:
            self.apply.emit(chosen)

    def _usual(self) -> None:
        self.show_settings(Settings())
        self._apply()


def _number(text: str) -> float:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError as fault:
        raise ValueError(tr("“{text}” is not a number", text=text)) from fault


def _line(says: str) -> QLineEdit:
    made = QLineEdit()
    made.setAccessibleName(says)
    return made
