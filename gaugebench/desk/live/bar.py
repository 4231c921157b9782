"""The bar below the picture: record, stop, mark, hold, and how much is shown."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QLineEdit, QPushButton, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.live.picture import LENGTHS_S
from gaugebench.desk.words import tr
from gaugebench.model.job import Phase

LEAST_NOTE_PX = 120
GROUP_PX = 16


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
    capture = Signal(object)
    """Read now, as found or as left: the `Phase`."""
    huge = Signal(bool)

    def __init__(self) -> None:
        super().__init__()
        self._lengths = list(LENGTHS_S)
        self._at = self._lengths.index(30.0)
        self.record_button = button("●  " + tr("Record"), tr("Start the record"))
        self.stop_button = button("■  " + tr("Stop and seal"), tr("Stop the record and seal it"))
        self.stop_button.setProperty("urgent", True)  # noqa: FBT003 - Qt takes it so
        self.mark_button = button(tr("Mark (Space)"), tr("Set a mark at this instant"))
        self.note = QLineEdit()
        self.note.setPlaceholderText(tr("Note for the next mark"))
        self.note.setMinimumWidth(LEAST_NOTE_PX)
        self.note.setAccessibleName(tr("Note for the next mark"))
        self.note.returnPressed.connect(self.set_mark)
        self.found_button = button(
            tr("As found (F5)"), tr("Read the check that waits now, as found, and mark it")
        )
        self.left_button = button(
            tr("As left (F6)"), tr("Read the check that waits now, as left, and mark it")
        )
        self.capture_buttons = {Phase.AS_FOUND: self.found_button, Phase.AS_LEFT: self.left_button}
        self._capture_texts = {key: each.text() for key, each in self.capture_buttons.items()}
        self.huge_button = button(
            tr("Huge"), tr("One huge number beside its target"), is_switch=True
        )
        self.hold_button = button(
            tr("Hold"), tr("Hold the picture still; recording goes on"), is_switch=True
        )
        self.reset_button = button(tr("Reset"), tr("Forget the least and greatest values"))
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
        for phase, each in self.capture_buttons.items():
            each.clicked.connect(lambda _=False, p=phase: self.capture.emit(p))
        self.huge_button.toggled.connect(self.huge)
        self.reset_button.clicked.connect(self.reset)
        self.shorter.clicked.connect(lambda: self.step(-1))
        self.longer.clicked.connect(lambda: self.step(1))
        self.step(0)
        self.show_state(is_recording=False, is_sealing=False, has_feed=False)

    def set_mark(self) -> None:
        """Ask for a mark with the note that stands."""
        self.mark.emit(self.note.text().strip())
        self.note.clear()

    def take_over(self, old: LiveBar) -> None:
        """Stand as another bar stood."""
        self.note.setText(old.note.text())
        self.huge_button.setChecked(old.huge_button.isChecked())
        self._at = old._at
        self.step(0)

    def step(self, by: int) -> None:
        """A shorter or longer stretch."""
        self._at = min(max(self._at + by, 0), len(self._lengths) - 1)
        seconds = self._lengths[self._at]
        self.shown.setText(length_words(seconds))
        self.shown.setAccessibleName(tr("Stretch shown: {length}", length=length_words(seconds)))
        self.shorter.setEnabled(self._at > 0)
        self.longer.setEnabled(self._at < len(self._lengths) - 1)
        self.length.emit(seconds)

    def show_state(self, *, is_recording: bool, is_sealing: bool, has_feed: bool,
                   phase: Phase | None = None) -> None:  # fmt: skip
        """Which buttons can be pressed now. phase: of the open job, None without one."""
        self.record_button.setEnabled(has_feed and not is_recording and not is_sealing)
        self.stop_button.setEnabled(is_recording)
        for widget in (
            self.mark_button, self.hold_button, self.reset_button, self.note, self.huge_button,
        ):  # fmt: skip
            widget.setEnabled(has_feed)
        for key, each in self.capture_buttons.items():
            each.setEnabled(has_feed and phase in (None, key))

    def show_waiting(self, phase: Phase | None) -> None:
        """Say on the button of a phase that its reading waits; None where none does."""
        for key, each in self.capture_buttons.items():
            text = tr("Stop waiting") if key is phase else self._capture_texts[key]
            if each.text() != text:
                each.setText(text)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """In two rows where one is too short."""
        super().resizeEvent(event)
        self._arrange()

    def _lay_out(self) -> None:
        self._doing = QHBoxLayout()
        for widget in (self.record_button, self.stop_button, self.mark_button):
            self._doing.addWidget(widget)
        self._doing.addWidget(self.note, 1)
        for widget in self.capture_buttons.values():
            self._doing.addWidget(widget)
        self._seeing = QHBoxLayout()
        for widget in (self.huge_button, self.reset_button, self.hold_button):
            self._seeing.addWidget(widget)
        self._seeing.addSpacing(GROUP_PX)
        for part in (self.shorter, self.shown, self.longer):
            self._seeing.addWidget(part)
        self._seeing.addStretch(1)
        self._rows = QGridLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._is_wide: bool | None = None
        self._needs: tuple[int, int] | None = None
        self._arrange()

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802 - Qt's name
        """Larger letters need more room."""
        super().changeEvent(event)
        if event.type() in {QEvent.Type.FontChange, QEvent.Type.StyleChange}:
            self._needs = None

    def _need(self) -> int:
        """The least width of one row; the note gives way before a second row is begun."""
        doing = (self.record_button, self.stop_button, self.mark_button, self.found_button,
                 self.left_button)  # fmt: skip
        seeing = (self.huge_button, self.reset_button, self.hold_button, self.shorter, self.longer)
        parts = [each.sizeHint().width() for each in (*doing, *seeing)]
        gap = max(self._doing.spacing(), 6)
        length = max(self.shown.sizeHint().width(), self.shown.minimumWidth())
        return sum(parts) + length + LEAST_NOTE_PX + (len(parts) + 2) * gap + GROUP_PX

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        """Only what is dressed knows its size."""
        super().showEvent(event)
        self._needs = None
        self._arrange()

    def _arrange(self) -> None:
        if self._needs is None:
            self._narrow(is_narrow=False)
            roomy = self._need()
            self._narrow(is_narrow=True)
            self._needs = roomy, self._need()
        self._narrow(is_narrow=self.width() < self._needs[0])
        is_wide = self.width() >= self._needs[1]
        if is_wide is self._is_wide:
            return
        self._is_wide = is_wide
        for part in (self._doing, self._seeing):
            self._rows.removeItem(part)
            part.setParent(None)
        self._rows.addLayout(self._doing, 0, 0)
        self._rows.addLayout(self._seeing, *((0, 1) if is_wide else (1, 0)))
        self._rows.setColumnStretch(0, 1)

    def _narrow(self, *, is_narrow: bool) -> None:
        """Let the buttons stand closer round fewer words."""
        self.mark_button.setText(tr("Mark") if is_narrow else tr("Mark (Space)"))
        for each in self.findChildren(QPushButton):
            each.ensurePolished()
            if bool(each.property("narrow")) != is_narrow:
                each.setProperty("narrow", is_narrow)
                each.style().unpolish(each)
                each.style().polish(each)
                each.updateGeometry()
