"""Replay: the picture runs as it did on the machine."""

from __future__ import annotations

from PySide6.QtCore import QElapsedTimer, QTimer, Signal
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.review.player import SPEEDS, Player
from gaugebench.desk.shown import clock, plain
from gaugebench.desk.words import tr

FRAME_MS = 40
STEP_S = 0.1


class Transport(QWidget):
    """Play, pause, step, speed, and a stretch to repeat."""

    moved = Signal(float)
    """The replay stands at this instant, s."""
    loop_asked = Signal()
    """Repeat what is in view."""

    def __init__(self) -> None:
        super().__init__()
        self.player = Player()
        self.play_button = button(tr("Play"), tr("Play or pause (P)"), is_switch=True)
        self.back = button(f"−{plain(STEP_S, 1)} s", tr("A tenth of a second back (,)"))
        self.on = button(f"+{plain(STEP_S, 1)} s", tr("A tenth of a second on (.)"))
        self.loop = button(tr("Repeat view"), tr("Repeat the stretch in view (L)"), is_switch=True)
        self.speed = QComboBox()
        self.speed.setAccessibleName(tr("Speed of the replay"))
        for speed in SPEEDS:
            self.speed.addItem(f"{plain(speed, 2).rstrip('0').rstrip('.,')}×", speed)
        self.speed.setCurrentIndex(SPEEDS.index(1.0))
        self.where = QLabel()
        self._since = QElapsedTimer()
        self._timer = QTimer(self)
        self._timer.setInterval(FRAME_MS)
        self._timer.timeout.connect(self._frame)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for each in (self.back, self.play_button, self.on, self.speed, self.loop):
            row.addWidget(each)
        row.addWidget(self.where, 1)
        self.play_button.toggled.connect(self._toggled)
        self.back.clicked.connect(lambda: self.step(-STEP_S))
        self.on.clicked.connect(lambda: self.step(STEP_S))
        self.speed.currentIndexChanged.connect(self._speed_changed)
        self.loop.toggled.connect(self._looped)
        self._say()

    def open(self, start_s: float, end_s: float) -> None:
        """Another trace; it stands at its start."""
        self.play_button.setChecked(False)
        self.loop.setChecked(False)
        self.player = Player(start_s, end_s, start_s, SPEEDS[self.speed.currentIndex()])
        self._say()

    def toggle(self) -> None:
        """Play or pause."""
        self.play_button.click()

    def step(self, by_s: float) -> None:
        """Move by hand."""
        self.player.step(by_s)
        self.play_button.setChecked(False)
        self._tell()

    def hideEvent(self, event: QHideEvent) -> None:  # noqa: N802 - Qt's name
        """No replay behind another place."""
        super().hideEvent(event)
        self.play_button.setChecked(False)

    def _toggled(self, is_down: bool) -> None:
        self.play_button.setText(tr("Pause") if is_down else tr("Play"))
        if is_down:
            self.player.play()
            self._since.start()
            self._timer.start()
        else:
            self.player.pause()
            self._timer.stop()

    def _frame(self) -> None:
        self.player.advance(self._since.restart() / 1000.0)
        self._tell()
        if not self.player.is_playing:
            self.play_button.setChecked(False)

    def _speed_changed(self, index: int) -> None:
        self.player.speed = SPEEDS[index]

    def _looped(self, is_down: bool) -> None:
        if is_down:
            self.loop_asked.emit()
        else:
            self.player.loop = None

    def _tell(self) -> None:
        self._say()
        self.moved.emit(self.player.at_s)

    def _say(self) -> None:
        player = self.player
        self.where.setText(
            tr("at {at} of {end} min:s", at=clock(player.at_s), end=clock(player.end_s))
        )
