"""Tabs whose places are built when they are first needed, or when there is nothing else to do.

A place and the rooms it asks take a tenth of a second to load and build; the window is painted
before that.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QTabWidget, QWidget

if TYPE_CHECKING:
    from gaugebench.desk.compare.place import ComparePlace
    from gaugebench.desk.hookup.place import HookupPlace
    from gaugebench.desk.live.place import LivePlace
    from gaugebench.desk.review.place import ReviewPlace
    from gaugebench.desk.worksheet.place import WorksheetPlace


@dataclass(frozen=True, slots=True)
class Maker:
    """How a place is made."""

    key: str
    title: str
    make: Callable[[], QWidget]


class Places(QTabWidget):
    """The places of a visit, in their order."""

    def __init__(self, makers: tuple[Maker, ...]) -> None:
        super().__init__()
        self._makers = {maker.key: maker for maker in makers}
        self._built: dict[str, QWidget] = {}
        for maker in makers:
            self.addTab(QWidget(), maker.title)
        self.currentChanged.connect(self._shown)

    def place(self, key: str) -> QWidget:
        """A place, built now if it is not there yet."""
        found = self._built.get(key)
        if found is not None:
            return found
        maker = self._makers[key]
        made = maker.make()
        self._built[key] = made
        index = list(self._makers).index(key)
        current = self.currentIndex()
        self.blockSignals(True)  # noqa: FBT003 - Qt takes it so
        empty = self.widget(index)
        self.removeTab(index)
        self.insertTab(index, made, maker.title)
        self.setCurrentIndex(current)
        self.blockSignals(False)  # noqa: FBT003 - Qt takes it so
        if empty is not None:
            empty.deleteLater()
        return made

    @property
    def hookup(self) -> HookupPlace:
        """The Hook-up place."""
        return cast("HookupPlace", self.place("hookup"))

    @property
    def live(self) -> LivePlace:
        """The Live place."""
        return cast("LivePlace", self.place("live"))

    @property
    def review(self) -> ReviewPlace:
        """The Review place."""
        return cast("ReviewPlace", self.place("review"))

    @property
    def compare(self) -> ComparePlace:
        """The Side by side place."""
        return cast("ComparePlace", self.place("compare"))

    @property
    def worksheet(self) -> WorksheetPlace:
        """The Worksheet place."""
        return cast("WorksheetPlace", self.place("worksheet"))

    def say(self, sentence: str) -> None:
        """Say something where the eye is: in the place in sight."""
        place = list(self._makers)[self.currentIndex()]
        shown: HookupPlace | LivePlace | ReviewPlace | ComparePlace | WorksheetPlace
        shown = getattr(self, place)
        shown.notice.say(sentence)

    def shows_simulated(self, *, is_simulated: bool) -> bool:
        """Whether what stands in the place in sight was not measured on a machine.

        is_simulated: whether the kit that is open is none on a machine.
        """
        if self.is_current("compare"):
            return self.compare.is_simulated
        if self.is_current("worksheet") and self.worksheet.is_simulated:
            return True
        if self.is_current("review"):
            return self.review.opened is not None and self.review.opened.trace.simulated
        return is_simulated

    def is_built(self, key: str) -> bool:
        """Whether a place is there."""
        return key in self._built

    def is_current(self, key: str) -> bool:
        """Whether a place is the one in sight."""
        return list(self._makers)[self.currentIndex()] == key

    def build_all(self) -> None:
        """Build what is not there yet."""
        for key in self._makers:
            self.place(key)

    def build_rest(self) -> None:
        """Build one place that is not there yet, then give way and go on."""
        missing = next((key for key in self._makers if key not in self._built), None)
        if missing is not None and self.isVisible():
            self.place(missing)
            QTimer.singleShot(0, self, self.build_rest)

    def _shown(self, index: int) -> None:
        self.place(list(self._makers)[index])
