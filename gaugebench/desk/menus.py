"""Menus and keys. Every key is shown in its menu."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QLineEdit, QMenu

from gaugebench.desk.theme import THEMES
from gaugebench.desk.words import LANGUAGES, tr

if TYPE_CHECKING:
    from gaugebench.desk.window import DeskWindow


_LIVE = ("mark", "hold", "shorter", "longer", "reset")
_REVIEW = (
    "before", "next", "whole", "nearer", "farther", "left", "right", "box", "cursors", "save",
    "addmark", "delmark", "play", "loop", "stepback", "stepon", "undo", "redo",
)  # fmt: skip


class Menus:
    """Builds the menu bar of a window."""

    def __init__(self, window: DeskWindow) -> None:
        self.window = window
        self.actions: dict[str, QAction] = {}
        bar = window.menuBar()
        self._file(bar.addMenu(tr("&File")))
        self._hookup(bar.addMenu(tr("&Hook-up")))
        self._live(bar.addMenu(tr("&Live")))
        self._review(bar.addMenu(tr("&Review")))
        self._view(bar.addMenu(tr("&View")))
        self.renew_recent()
        self.enable_for_place()

    def renew_recent(self) -> None:
        """The traces opened lately."""
        self._recent.clear()
        for path in self.window.memory.recent:
            action = self._recent.addAction(str(path))
            action.triggered.connect(lambda _=False, p=path: self.window.open_trace(p))
        self._recent.setEnabled(not self._recent.isEmpty())

    def enable_for_place(self) -> None:
        """Keys of a place work in that place alone; a key never does something out of sight."""
        current = self.window.tabs.currentWidget()
        for keys, place in ((_LIVE, self.window.live), (_REVIEW, self.window.review)):
            for key in keys:
                self.actions[key].setEnabled(current is place)

    def _add(
        self, menu: QMenu, key: str, text: str, do: Callable[[], object], keys: str
    ) -> QAction:
        action = menu.addAction(text)
        if keys:
            action.setShortcut(QKeySequence(keys))
        action.triggered.connect(lambda _=False: do())
        self.actions[key] = action
        return action

    def _file(self, menu: QMenu) -> None:
        window = self.window
        self._add(menu, "open", tr("&Open a trace…"), window.ask_trace, "Ctrl+O")
        self._recent = menu.addMenu(tr("Opened &lately"))
        menu.addSeparator()
        self._add(menu, "quit", tr("&Quit"), window.close, "Ctrl+Q")

    def _hookup(self, menu: QMenu) -> None:
        hookup = self.window.hookup
        self._add(menu, "kit", tr("Open &kit…"), hookup.open_button.click, "Ctrl+K")
        self._add(menu, "practise", tr("&Practise on a simulated machine"), hookup.practise, "")
        self._add(menu, "connect", tr("&Connect"), hookup.connect_button.click, "Ctrl+H")
        self._add(menu, "letgo", tr("&Let go"), hookup.disconnect_button.click, "")

    def _live(self, menu: QMenu) -> None:
        live = self.window.live
        self._add(menu, "record", tr("&Record"), live.start_record, "Ctrl+R")
        self._add(menu, "stop", tr("&Stop and seal"), live.stop_record, "Ctrl+E")
        self._add(menu, "mark", tr("&Mark"), self._mark, "Space")
        self._add(menu, "hold", tr("&Hold picture"), live.bar.hold_button.click, "H")
        self._add(menu, "shorter", tr("Shorter stretch"), lambda: live.bar.step(-1), "Ctrl+-")
        self._add(menu, "longer", tr("Longer stretch"), lambda: live.bar.step(1), "Ctrl++")
        self._add(menu, "large", tr("&Operator's window"), live.large.show, "Ctrl+T")
        self._add(menu, "reset", tr("Reset &extremes"), live.bar.reset_button.click, "Ctrl+0")

    def _review(self, menu: QMenu) -> None:
        review = self.window.review
        picture = review.picture
        self._add(menu, "before", tr("Loading &before"), lambda: review.step_loading(-1), "PgUp")
        self._add(menu, "next", tr("&Next loading"), lambda: review.step_loading(1), "PgDown")
        self._add(menu, "whole", tr("&Whole trace"), picture.whole, "Home")
        self._add(menu, "nearer", tr("Show &less, larger"), lambda: picture.zoom(0.5), "+")
        self._add(menu, "farther", tr("Show &more, smaller"), lambda: picture.zoom(2.0), "-")
        self._add(menu, "left", tr("Back in time"), lambda: picture.pan(-0.25), "Ctrl+Left")
        self._add(menu, "right", tr("On in time"), lambda: picture.pan(0.25), "Ctrl+Right")
        self._add(menu, "box", tr("&Box zoom"), review.box_button.click, "B")
        self._add(menu, "cursors", tr("&Cursors"), review.cursor_button.click, "C")
        menu.addSeparator()
        self._add(menu, "undo", tr("&Undo"), review.edits.stack.undo, "Ctrl+Z")
        self._add(menu, "redo", tr("&Redo"), review.edits.stack.redo, "Ctrl+Shift+Z")
        self._add(menu, "addmark", tr("Add a &mark here"), review.add_mark, "M")
        self._add(menu, "delmark", tr("&Delete the chosen mark"), review.delete_mark, "Del")
        self._add(menu, "save", tr("&Save marks and figures"), review.save, "Ctrl+S")
        menu.addSeparator()
        transport = review.transport
        self._add(menu, "play", tr("&Play or pause"), transport.play_button.click, "P")
        self._add(menu, "stepback", tr("A tenth of a second back"), transport.back.click, ",")
        self._add(menu, "stepon", tr("A tenth of a second on"), transport.on.click, ".")
        self._add(menu, "loop", tr("Repeat the vie&w"), transport.loop.click, "L")

    def _view(self, menu: QMenu) -> None:
        window = self.window
        for index in range(window.tabs.count()):
            self._add(
                menu,
                f"place{index}",
                window.tabs.tabText(index),
                partial(window.tabs.setCurrentIndex, index),
                f"Alt+{index + 1}",
            )
        menu.addSeparator()
        self._choice(
            menu.addMenu(tr("&Theme, from the next start")),
            {key: tr(theme.title) for key, theme in THEMES.items()},
            "theme",
            window.theme.key,
        )
        self._choice(
            menu.addMenu(tr("&Language, from the next start")),
            LANGUAGES,
            "language",
            window.memory.text("language", "en"),
        )
        self._add(menu, "full", tr("&Full screen"), self._full_screen, "F11")
        self._add(menu, "escape", tr("Leave full screen, put messages away"), self._escape, "Esc")

    def _choice(self, menu: QMenu, choices: dict[str, str], key: str, now: str) -> None:
        group = QActionGroup(menu)
        for value, title in choices.items():
            action = menu.addAction(title)
            action.setCheckable(True)
            action.setChecked(value == now)
            action.triggered.connect(lambda _=False, v=value: self.window.memory.keep(key, v))
            group.addAction(action)

    def _mark(self) -> None:
        # Space in a line of text is a space; on Live it is a mark wherever the focus is.
        if not isinstance(self.window.focusWidget(), QLineEdit):
            self.window.live.bar.set_mark()

    def _full_screen(self) -> None:
        if self.window.isFullScreen():
            self.window.showNormal()
        else:
            self.window.showFullScreen()

    def _escape(self) -> None:
        self.window.live.notice.clear()
        self.window.review.notice.clear()
        if self.window.isFullScreen():
            self.window.showNormal()
