"""Start the desk."""

from __future__ import annotations

import logging
import sys
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QMessageLogContext, QtMsgType, qInstallMessageHandler
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication

from gaugebench import diagnostics
from gaugebench.desk.dress import wear
from gaugebench.desk.language import switch
from gaugebench.desk.memory import Memory
from gaugebench.desk.theme import LIGHT, THEMES, Theme

log = logging.getLogger(__name__)
LEAST_POINTS = 11.0
_LEVELS = {
    QtMsgType.QtDebugMsg: logging.DEBUG,
    QtMsgType.QtInfoMsg: logging.INFO,
    QtMsgType.QtWarningMsg: logging.WARNING,
    QtMsgType.QtCriticalMsg: logging.ERROR,
    QtMsgType.QtFatalMsg: logging.CRITICAL,
}


def application(argv: Sequence[str] = (), theme: Theme | None = None) -> QApplication:
    """The application, made once, dressed for the theme and speaking the language remembered."""
    running = QApplication.instance()
    app = running if isinstance(running, QApplication) else QApplication(["gaugebench", *argv])
    app.setApplicationName("Gaugebench")
    app.setDesktopFileName("gaugebench")
    memory = Memory()
    switch(app, memory.text("language", "en"))
    app.setStyle("Fusion")
    font = QFont(app.font())
    # The system's size where it is larger: text scales with the system.
    font.setPointSizeF(max(font.pointSizeF(), LEAST_POINTS))
    app.setFont(font)
    wear(app, theme or THEMES.get(memory.text("theme", LIGHT.key), LIGHT))
    return app


def run(argv: Sequence[str]) -> int:
    """Open the desk, with a trace where one is named; until the window is closed."""
    hear_qt()
    app = application(argv)
    from gaugebench.desk.window import DeskWindow

    window = DeskWindow()
    window.show()
    window.leftovers.look(window.folder)
    files = [Path(a) for a in argv if not a.startswith("-")]
    if files:
        window.open_trace(files[0])
    return app.exec()


def hear_qt() -> None:
    """Take what Qt says into the program's log."""
    qInstallMessageHandler(_log_qt)


def _log_qt(kind: QtMsgType, context: QMessageLogContext, text: str) -> None:
    level = _LEVELS.get(kind, logging.WARNING)
    if text.startswith("This plugin does not support"):
        level = logging.DEBUG  # the offscreen platform has no window manager
    # Qt's own words may stand in the log to send; what it quotes, and paths, are cut out.
    log.log(level, "%s (%s)", diagnostics.plain(text), diagnostics.plain(context.category or "-"))


if __name__ == "__main__":
    sys.exit(run(sys.argv[1:]))
