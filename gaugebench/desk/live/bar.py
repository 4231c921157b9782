"""The bar below the picture: record, stop, mark, hold, and how much is shown."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.live.picture import LENGTHS_S
from gaugebench.desk.words import tr


def length_words(seconds: float) -> str:
    """A length of window with its unit."""
    if seconds < 60:
        return tr("{length} s", length=int(seconds))
    return tr("{length} min", length=int(seconds // 60))


class LiveBar(QWidget):
    """Buttons for gloves. Emits what is asked; the place does it."""

    record = Signal()
    stop = Signal()
    mark = Signal(str)
    hold = Signal(bool)
    length = Signal(float)
    reset = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._lengths = list(LENGTHS_S)
        self._at = self._lengths.index(30.0)
        self.record_button = button("●  " + tr("Record"), tr("Start the record"))
        self.stop_button = button("■  " + tr("Stop and seal"), tr("Stop the record and seal it"))
        self.stop_button.setProperty("urgent", True)  # noqa: FBT003 - Qt takes it so
        self.mark_button = button(tr("Mark  (Space)"), tr("Set a mark at this instant"))
        self.note = QLineEdit()
        self.note.setPlaceholderText(tr("Note for the next mark"))
        self.note.setAccessibleName(tr("Note for the next mark"))
        self.note.returnPressed.connect(self.set_mark)
        self.hold_button = button(
            tr("Hold picture"), tr("Hold the picture still; recording goes on"), is_switch=True
        )
        self.reset_button = button(tr("Reset extremes"), tr("Forget the least and greatest values"))
        self.shorter = button("−", tr("Show a shorter stretch"))
        self.longer = button("+", tr("Show a longer stretch"))
        self.shown = QLabel()
        self.shown.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.shown.setMinimumWidth(70)
        self._lay_out()
        self.record_button.clicked.connect(self.record)
        self.stop_button.clicked.connect(self.stop)
        self.mark_button.clicked.connect(self.set_mark)
        self.hold_button.toggled.connect(self.hold)
        self.reset_button.clicked.connect(self.reset)
        self.shorter.clicked.connect(lambda: self.step(-1))
        self.longer.clicked.connect(lambda: self.step(1))
        self.step(0)
        self.show_state(is_recording=False, is_sealing=False, has_feed=False)

    def set_mark(self) -> None:
        """Ask for a mark with the note that stands."""
        self.mark.emit(self.note.text().strip())
        self.note.clear()

    def step(self, by: int) -> None:
        """A shorter or longer stretch."""
        self._at = min(max(self._at + by, 0), len(self._lengths) - 1)
        seconds = self._lengths[self._at]
        self.shown.setText(length_words(seconds))
        self.shown.setAccessibleName(tr("Stretch shown: {length}", length=length_words(seconds)))
        self.shorter.setEnabled(self._at > 0)
        self.longer.setEnabled(self._at < len(self._lengths) - 1)
        self.length.emit(seconds)

    def show_state(self, *, is_recording: bool, is_sealing: bool, has_feed: bool) -> None:
        """Which buttons can be pressed now."""
        self.record_button.setEnabled(has_feed and not is_recording and not is_sealing)
        self.stop_button.setEnabled(is_recording)
        for widget in (self.mark_button, self.hold_button, self.reset_button, self.note):
            widget.setEnabled(has_feed)

    def _lay_out(self) -> None:
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for widget in (self.record_button, self.stop_button, self.mark_button):
            row.addWidget(widget)
        row.addWidget(self.note, 1)
        for widget in (self.reset_button, self.hold_button):
            row.addWidget(widget)
        row.addSpacing(16)
        for part in (self.shorter, self.shown, self.longer):
            row.addWidget(part)
