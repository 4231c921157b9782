"""Menus and keys. Every key is shown in its menu."""

# ruff: noqa: PLW0108 - a place is built only when one of its keys is first pressed
from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QFileDialog, QLineEdit, QMainWindow, QMenu

from gaugebench import diagnostics
from gaugebench.desk.live.key import KeyCatcher, keep, remembered
from gaugebench.desk.memory import Memory
from gaugebench.desk.notice import Notice
from gaugebench.desk.places import Places
from gaugebench.desk.theme import THEMES
from gaugebench.desk.words import LANGUAGES, language, told, tr
from gaugebench.errors import RecordError

if TYPE_CHECKING:
    from gaugebench.desk.helpview import GuideWindow
    from gaugebench.guide import Place


_LIVE = (
    "mark", "hold", "shorter", "longer", "reset", "as found", "as left", "button", "huge",
)  # fmt: skip
_REVIEW = (
    "before", "next", "whole", "nearer", "farther", "left", "right", "box", "cursors", "save",
    "stretch",
    "addmark", "delmark", "play", "loop", "stepback", "stepon", "undo", "redo",
)  # fmt: skip


class Menus(QObject):
    """Builds the menu bar of a window; what its places cannot do is asked of the window."""

    open_asked = Signal()
    trace_chosen = Signal(Path)
    theme_chosen = Signal(str)
    language_chosen = Signal(str)

    def __init__(self, window: QMainWindow, places: Places, memory: Memory, theme_key: str) -> None:
        super().__init__(window)
        self.window, self.places, self.memory = window, places, memory
        self._theme_key = theme_key
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
        for path in self.memory.recent:
            action = self._recent.addAction(str(path))
            action.triggered.connect(lambda _=False, p=path: self.trace_chosen.emit(p))
        self._recent.setEnabled(not self._recent.isEmpty())

    def renew_choices(self) -> None:
        """Mark the theme and language that stand: another was chosen and could not be had."""
        for key in (self._theme_key, language()):
            self.actions[f"choose {key}"].setChecked(True)

    def enable_for_place(self) -> None:
        """Keys of a place work in that place alone; a key never does something out of sight."""
        for keys, place in ((_LIVE, "live"), (_REVIEW, "review")):
            for key in keys:
                self.actions[key].setEnabled(self.places.is_current(place))

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
        self._add(menu, "open", tr("&Open a trace…"), self.open_asked.emit, "Ctrl+O")
        self._recent = menu.addMenu(tr("Opened &lately"))
        menu.addSeparator()
        self._add(menu, "quit", tr("&Quit"), self.window.close, "Ctrl+Q")

    def _hookup(self, menu: QMenu) -> None:
        add, places = partial(self._add, menu), self.places
        add("kit", tr("Open &kit…"), lambda: places.hookup.pages.kit.open_button.click(), "Ctrl+K")
        add("practise", tr("&Practise on a simulated machine"), lambda: places.hookup.practise())
        add("connect", tr("&Connect"), lambda: places.hookup.ask_connect(), "Ctrl+H")
        add("letgo", tr("&Let go"), lambda: places.hookup.let_go())

    def _live(self, menu: QMenu) -> None:
        add, places = partial(self._add, menu), self.places
        add("record", tr("&Record"), lambda: places.live.start_record(), "Ctrl+R")
        add("stop", tr("&Stop and seal"), lambda: places.live.stop_record(), "Ctrl+E")
        add("mark", tr("&Mark"), self._mark, "Space")
        add("hold", tr("&Hold picture"), lambda: places.live.bar.hold_button.click(), "H")
        add("shorter", tr("Shorter stretch"), lambda: places.live.bar.step(-1), "Ctrl+-")
        add("longer", tr("Longer stretch"), lambda: places.live.bar.step(1), "Ctrl++")
        add("as found", tr("Read as &found"), lambda: places.live.bar.found_button.click(), "F5")
        add("as left", tr("Read as &left"), lambda: places.live.bar.left_button.click(), "F6")
        pressed = remembered(self.memory)
        add("button", tr("Mark &button"), lambda: places.live.press_button(), pressed)
        add("learn", tr("Choose the mark &button…"), self._learn)
        add("huge", tr("Hu&ge number"), lambda: places.live.bar.huge_button.click(), "G")
        add("large", tr("&Operator's window"), lambda: places.live.large.show(), "Ctrl+T")
        add("reset", tr("Reset &extremes"), lambda: places.live.bar.reset_button.click(), "Ctrl+0")

    def _review(self, menu: QMenu) -> None:
        add, places = partial(self._add, menu), self.places
        add("before", tr("Loading &before"), lambda: places.review.step_loading(-1), "PgUp")
        add("next", tr("&Next loading"), lambda: places.review.step_loading(1), "PgDown")
        add("whole", tr("&Whole trace"), lambda: places.review.picture.whole(), "Home")
        add("nearer", tr("Show &less, larger"), lambda: places.review.picture.zoom(0.5), "+")
        add("farther", tr("Show &more, smaller"), lambda: places.review.picture.zoom(2.0), "-")
        add("left", tr("Back in time"), lambda: places.review.picture.pan(-0.25), "Ctrl+Left")
        add("right", tr("On in time"), lambda: places.review.picture.pan(0.25), "Ctrl+Right")
        add("box", tr("&Box zoom"), lambda: places.review.box_button.click(), "B")
        add("cursors", tr("&Cursors"), lambda: places.review.cursor_button.click(), "C")
        otherwise = tr("Read the &text file in another way…")
        add("otherwise", otherwise, lambda: places.review.read_otherwise())
        menu.addSeparator()
        add("undo", tr("&Undo"), lambda: places.review.edits.undo(), "Ctrl+Z")
        add("redo", tr("&Redo"), lambda: places.review.edits.redo(), "Ctrl+Shift+Z")
        add("addmark", tr("Add a &mark here"), lambda: places.review.add_mark(), "M")
        add("delmark", tr("&Delete the chosen mark"), lambda: places.review.delete_mark(), "Del")
        add("save", tr("&Save marks and figures"), lambda: places.review.save(), "Ctrl+S")
        stretch = tr("Sa&ve the stretch in view as a trace…")
        add("stretch", stretch, lambda: places.review.save_stretch(), "Ctrl+Shift+S")
        menu.addSeparator()
        add("play", tr("&Play or pause"), lambda: places.review.transport.toggle(), "P")
        back, on = tr("A tenth of a second back"), tr("A tenth of a second on")
        add("stepback", back, lambda: places.review.transport.back.click(), ",")
        add("stepon", on, lambda: places.review.transport.on.click(), ".")
        add("loop", tr("Repeat the vie&w"), lambda: places.review.transport.loop.click(), "L")

    def _view(self, menu: QMenu) -> None:
        places = self.places
        for index in range(places.count()):
            self._add(
                menu,
                f"place{index}",
                places.tabText(index),
                partial(places.setCurrentIndex, index),
                f"Alt+{index + 1}",
            )
        menu.addSeparator()
        themes = {key: tr(theme.title) for key, theme in THEMES.items()}
        self._choice(menu.addMenu(tr("&Theme")), themes, self._theme_key, self.theme_chosen.emit)
        self._choice(
            menu.addMenu(tr("&Language")), LANGUAGES, language(), self.language_chosen.emit
        )
        self._add(menu, "full", tr("&Full screen"), self._full_screen, "F11")
        self._add(menu, "escape", tr("Leave full screen, put messages away"), self._escape, "Esc")

    def _help(self, menu: QMenu) -> None:
        self._add(menu, "guide", tr("User's &guide"), self.show_guide, "F1")
        self._add(menu, "log", tr("Save the &log to send…"), self._save_log)

    def show_guide(self, place: Place | None = None) -> None:
        """Open the guide, at a place where one is named."""
        from gaugebench.desk.helpview import GuideWindow  # built when first asked for

        if self._guide is None:
            # One made before the menus were built anew, in another language, is still there.
            self._guide = self.window.findChild(GuideWindow) or GuideWindow(self.window)
        if place is not None:
            self._guide.show_place(place)
        self._guide.show()
        self._guide.raise_()

    def _save_log(self) -> None:
        """Ask for a file and put the log into it; what cannot be is said in the window."""
        chosen, _ = QFileDialog.getSaveFileName(
            self.window,
            tr("Save the log to send"),
            str(Path.home() / "gaugebench log.txt"),
            tr("Text") + " (*.txt)",
        )
        if not chosen:
            return
        try:
            Path(chosen).unlink(missing_ok=True)  # the dialog has asked whether to replace it
            self.places.say(
                tr(
                    "{path} holds what the program did, without names, places, paths or values.",
                    path=diagnostics.gather(Path(chosen)),
                )
            )
        except RecordError as fault:
            self.places.say(told(fault))
        except OSError as fault:
            self.places.say(tr("The log was not saved: {why}.", why=fault.strerror))

    def _choice(
        self, menu: QMenu, choices: dict[str, str], now: str, chosen: Callable[[str], None]
    ) -> None:
        group = QActionGroup(menu)
        for value, title in choices.items():
            action = self._add(menu, f"choose {value}", title, partial(chosen, value))
            action.setCheckable(True)
            action.setChecked(value == now)
            group.addAction(action)

    def _mark(self) -> None:
        # Space in a line of text is a space; on Live it is a mark wherever the focus is.
        if not isinstance(self.window.focusWidget(), QLineEdit):
            self.places.live.bar.set_mark()

    def _learn(self) -> None:
        """The next key that is pressed becomes the mark button's."""
        KeyCatcher(self.window, self._learned)
        self.places.live.notice.say(tr("Press the button now, or Esc to leave it as it is."))

    def _learned(self, key: str) -> None:
        notice = self.places.live.notice
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
        keep(self.memory, key)
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
