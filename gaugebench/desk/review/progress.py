"""How far long work is, and the button that stops it."""

from __future__ import annotations

import threading
from collections.abc import Callable

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.words import tr

STEPS = 1000


class ProgressStrip(QWidget):
    """Hidden where nothing runs. One piece of work at a time."""

    _told = Signal(object, float)

    def __init__(self) -> None:
        super().__init__()
        self.words = QLabel()
        self.bar = QProgressBar()
        self.bar.setAccessibleName(tr("How far it is"))
        self.bar.setRange(0, STEPS)
        self.stop_button = button(tr("Stop"), tr("Stop what is running"))
        self._stopped = threading.Event()
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.words)
        row.addWidget(self.bar, 1)
        row.addWidget(self.stop_button)
        self.stop_button.clicked.connect(self.stop)
        self._told.connect(self._show_share)
        self.hide()

    @property
    def is_stopped(self) -> bool:
        """Whether what ran last was told to stop."""
        return self._stopped.is_set()

    def begin(self, words: str) -> Callable[[float], bool]:
        """Show that work begins. What is given back is for the work's own thread: it is told the
        share done and answers whether to go on."""
        self.stop()  # what ran before has nobody waiting for it any more
        stopped = self._stopped = threading.Event()
        self.words.setText(words)
        self.bar.setRange(0, 0)  # busy, until a share is told
        self.stop_button.setEnabled(True)
        self.show()

        def tell(share: float) -> bool:
            if stopped.is_set():
                return False
            self._told.emit(stopped, share)
            return True

        return tell

    def stop(self) -> None:
        """Ask what runs to stop; it does so at its next step."""
        self._stopped.set()
        self.stop_button.setEnabled(False)

    def end(self) -> None:
        """Nothing runs."""
        self.hide()

    def _show_share(self, which: object, share: float) -> None:
        if which is self._stopped:
            self.bar.setRange(0, STEPS)
            self.bar.setValue(round(STEPS * share))
