"""Menus and keys. Every key is shown in its menu."""

# ruff: noqa: PLW0108 - a place is built only when one of its keys is first pressed
from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QLineEdit, QMenu

from gaugebench.desk.live.key import KeyCatcher, keep, remembered
from gaugebench.desk.notice import Notice
from gaugebench.desk.theme import THEMES
from gaugebench.desk.words import LANGUAGES, tr

if TYPE_CHECKING:
    from gaugebench.desk.helpview import GuideWindow
    from gaugebench.desk.window import DeskWindow
    from gaugebench.guide import Place


_LIVE = (
    "mark", "hold", "shorter", "longer", "reset", "as found", "as left", "button", "huge",
)  # fmt: skip
_REVIEW = (
    "before", "next", "whole", "nearer", "farther", "left", "right", "box", "cursors", "save",
    "stretch",
    "addmark", "delmark", "play", "loop", "stepback", "stepon", "undo", "redo",
)  # fmt: skip


class Menus:
    """Builds the menu bar of a window."""

    def __init__(self, window: DeskWindow) -> None:
        self.window = window
        self.actions: dict[str, QAction] = {}
        self._guide: GuideWindow | None = None
        bar = window.menuBar()
        self._file(bar.addMenu(tr("&File")))
        self._hookup(bar.addMenu(tr("&Hook-up")))
        self._live(bar.addMenu(tr("&Live")))
        self._review(bar.addMenu(tr("&Review")))
        self._view(bar.addMenu(tr("&View")))
        self._help(bar.addMenu(tr("Hel&p")))
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
        for keys, place in ((_LIVE, "live"), (_REVIEW, "review")):
            for key in keys:
                self.actions[key].setEnabled(self.window.tabs.is_current(place))

    def _add(
        self, menu: QMenu, key: str, text: str, do: Callable[[], object], keys: str = ""
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
        add, window = partial(self._add, menu), self.window
        add("kit", tr("Open &kit…"), lambda: window.hookup.pages.kit.open_button.click(), "Ctrl+K")
        add("practise", tr("&Practise on a simulated machine"), lambda: window.hookup.practise())
        add("connect", tr("&Connect"), lambda: window.hookup.ask_connect(), "Ctrl+H")
        add("letgo", tr("&Let go"), lambda: window.hookup.let_go())

    def _live(self, menu: QMenu) -> None:
        add, window = partial(self._add, menu), self.window
        add("record", tr("&Record"), lambda: window.live.start_record(), "Ctrl+R")
        add("stop", tr("&Stop and seal"), lambda: window.live.stop_record(), "Ctrl+E")
        add("mark", tr("&Mark"), self._mark, "Space")
        add("hold", tr("&Hold picture"), lambda: window.live.bar.hold_button.click(), "H")
        add("shorter", tr("Shorter stretch"), lambda: window.live.bar.step(-1), "Ctrl+-")
        add("longer", tr("Longer stretch"), lambda: window.live.bar.step(1), "Ctrl++")
        add("as found", tr("Read as &found"), lambda: window.live.bar.found_button.click(), "F5")
        add("as left", tr("Read as &left"), lambda: window.live.bar.left_button.click(), "F6")
        pressed = remembered(window.memory)
        add("button", tr("Mark &button"), lambda: window.live.press_button(), pressed)
        add("learn", tr("Choose the mark &button…"), self._learn)
        add("huge", tr("Hu&ge number"), lambda: window.live.bar.huge_button.click(), "G")
        add("large", tr("&Operator's window"), lambda: window.live.large.show(), "Ctrl+T")
        add("reset", tr("Reset &extremes"), lambda: window.live.bar.reset_button.click(), "Ctrl+0")

    def _review(self, menu: QMenu) -> None:
        add, window = partial(self._add, menu), self.window
        add("before", tr("Loading &before"), lambda: window.review.step_loading(-1), "PgUp")
        add("next", tr("&Next loading"), lambda: window.review.step_loading(1), "PgDown")
        add("whole", tr("&Whole trace"), lambda: window.review.picture.whole(), "Home")
        add("nearer", tr("Show &less, larger"), lambda: window.review.picture.zoom(0.5), "+")
        add("farther", tr("Show &more, smaller"), lambda: window.review.picture.zoom(2.0), "-")
        add("left", tr("Back in time"), lambda: window.review.picture.pan(-0.25), "Ctrl+Left")
        add("right", tr("On in time"), lambda: window.review.picture.pan(0.25), "Ctrl+Right")
        add("box", tr("&Box zoom"), lambda: window.review.box_button.click(), "B")
        add("cursors", tr("&Cursors"), lambda: window.review.cursor_button.click(), "C")
        menu.addSeparator()
        add("undo", tr("&Undo"), lambda: window.review.edits.stack.undo(), "Ctrl+Z")
        add("redo", tr("&Redo"), lambda: window.review.edits.stack.redo(), "Ctrl+Shift+Z")
        add("addmark", tr("Add a &mark here"), lambda: window.review.add_mark(), "M")
        add("delmark", tr("&Delete the chosen mark"), lambda: window.review.delete_mark(), "Del")
        add("save", tr("&Save marks and figures"), lambda: window.review.save(), "Ctrl+S")
        stretch = tr("Sa&ve the stretch in view as a trace…")
        add("stretch", stretch, lambda: window.review.save_stretch(), "Ctrl+Shift+S")
        menu.addSeparator()
        add("play", tr("&Play or pause"), lambda: window.review.transport.toggle(), "P")
        back, on = tr("A tenth of a second back"), tr("A tenth of a second on")
        add("stepback", back, lambda: window.review.transport.back.click(), ",")
        add("stepon", on, lambda: window.review.transport.on.click(), ".")
        add("loop", tr("Repeat the vie&w"), lambda: window.review.transport.loop.click(), "L")

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

    def _help(self, menu: QMenu) -> None:
        self._add(menu, "guide", tr("User's &guide"), self.show_guide, "F1")

    def show_guide(self, place: Place | None = None) -> None:
        """Open the guide, at a place where one is named."""
        from gaugebench.desk.helpview import GuideWindow  # built when first asked for

        if self._guide is None:
            self._guide = GuideWindow(self.window)
        if place is not None:
            self._guide.show_place(place)
        self._guide.show()
        self._guide.raise_()

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

    def _learn(self) -> None:
        """The next key that is pressed becomes the mark button's."""
        KeyCatcher(self.window, self._learned)
        self.window.live.notice.say(tr("Press the button now, or Esc to leave it as it is."))

    def _learned(self, key: str) -> None:
        notice = self.window.live.notice
        notice.clear()
        if key in {"", "Esc"}:
            return
        button = self.actions["button"]
        taken = {
            a.shortcut().toString(QKeySequence.SequenceFormat.PortableText)
            for name, a in self.actions.items()
            if a is not button and (a.isEnabled() or name in _LIVE)
        }
        if key in taken:
            notice.say(tr("{key} does something else here; choose another.", key=key))
            return
        keep(self.window.memory, key)
        button.setShortcut(QKeySequence(key))
        notice.say(tr("{key} now marks and reads.", key=key))

    def _full_screen(self) -> None:
        if self.window.isFullScreen():
            self.window.showNormal()
        else:
            self.window.showFullScreen()

    def _escape(self) -> None:
        for notice in self.window.findChildren(Notice):
            notice.clear()
        if self.window.isFullScreen():
            self.window.showNormal()
