"""The user's guide, page by page, in a window of its own that never stands in the way."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, QUrl
from PySide6.QtGui import QTextCursor, QTextDocument
from PySide6.QtWidgets import (
    QDialog,
    QListWidget,
    QListWidgetItem,
    QSplitter,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from gaugebench import guide
from gaugebench.desk.scale import touch
from gaugebench.desk.words import tr


class GuideWindow(QDialog):
    """The pages on the left, the one chosen on the right."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("User's guide"))
        self.resize(1200, 780)
        self.pages = QListWidget()
        self.pages.setAccessibleName(tr("Pages of the guide"))
        self.pages.setWordWrap(True)
        self.pages.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        for page in guide.PAGES:
            item = QListWidgetItem(guide.title(page), self.pages)
            item.setSizeHint(QSize(0, touch()))
        self.browser = QTextBrowser()
        self.browser.setAccessibleName(tr("The page"))
        self.browser.setSearchPaths([str(guide.FOLDER)])
        # Links lead within the guide alone; nothing is ever opened outside.
        self.browser.setOpenLinks(False)
        self.browser.anchorClicked.connect(self._follow)
        split = QSplitter()
        split.addWidget(self.pages)
        split.addWidget(self.browser)
        split.setStretchFactor(1, 1)
        split.setSizes([240, 960])  # the pictures are 820 wide
        layout = QVBoxLayout(self)
        layout.addWidget(split)
        self.pages.currentRowChanged.connect(self._turn_to)
        self.pages.setCurrentRow(0)

    def show_place(self, place: guide.Place) -> None:
        """Turn to a page, and to the heading that is named. Raises `KeyError` for no such place."""
        words = guide.heading_at(place)
        self.pages.setCurrentRow(guide.PAGES.index(place.page))
        if place.anchor:
            # Qt makes no anchors of Markdown's headings, so the heading's words are looked for.
            self.browser.moveCursor(QTextCursor.MoveOperation.Start)
            self.browser.find(words)

    def _turn_to(self, row: int) -> None:
        page = guide.PAGES[row]
        self.browser.document().setMarkdown(
            guide.text(page), QTextDocument.MarkdownFeature.MarkdownDialectGitHub
        )
        self.browser.moveCursor(QTextCursor.MoveOperation.Start)

    def _follow(self, link: QUrl) -> None:
        place = guide.Place.parse(link.toString())
        if place.page in guide.PAGES:
            self.show_place(place)
