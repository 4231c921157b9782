"""The user's guide, page by page, in a window of its own that never stands in the way."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QEvent, QSize, Qt, QUrl
from PySide6.QtGui import QImageReader, QTextCursor, QTextDocument, QTextTable
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
from gaugebench.desk.words import language, tr

AIR_PX = 12.0
"""Around the page, and above and below a table."""


class GuideBrowser(QTextBrowser):
    """Shows a page with room about its tables, and its pictures in the screen's own dots."""

    def __init__(self) -> None:
        super().__init__()
        self.speak()
        self.setSearchPaths([str(guide.FOLDER)])
        # Links lead within the guide alone; nothing is ever opened outside.
        self.setOpenLinks(False)

    def speak(self) -> None:
        """Show pages in the desk's language from now on."""
        self.language = language()
        self.setAccessibleName(tr("The page"))

    def show_page(self, page: str) -> None:
        """Show a page from its beginning. Raises `KeyError` where there is none of that name."""
        document = self.document()
        words = guide.text(page, self.language)
        if not guide.is_spoken(page, self.language):
            words = (
                f"*{tr('This page has no translation yet; it is shown in English.')}*\n\n{words}"
            )
        document.setMarkdown(words, QTextDocument.MarkdownFeature.MarkdownDialectGitHub)
        document.setDocumentMargin(AIR_PX)
        for frame in document.rootFrame().childFrames():
            if isinstance(frame, QTextTable):
                shape = frame.format()
                shape.setTopMargin(AIR_PX / 2)
                shape.setBottomMargin(AIR_PX)
                frame.setFormat(shape)
        # Qt leaves what follows a long page's later tables without lines, and so unseen, after
        # their margins are set, unless it is told to lay out the whole again.
        document.markContentsDirty(0, document.characterCount())
        self.moveCursor(QTextCursor.MoveOperation.Start)

    def turn_to(self, heading: str) -> None:
        """Show the heading that says so at the top. Qt makes no anchors of Markdown's headings."""
        block = self.document().begin()
        while block.isValid():
            if block.blockFormat().headingLevel() and block.text() == heading:
                cursor = QTextCursor(block)
                cursor.movePosition(cursor.MoveOperation.EndOfBlock, cursor.MoveMode.KeepAnchor)
                self.moveCursor(QTextCursor.MoveOperation.End)  # so that it comes to the top
                self.setTextCursor(cursor)
                return
            block = block.next()

    def loadResource(self, kind: int, name: QUrl | str) -> Any:  # noqa: N802 - Qt's name
        """What a page names; a drawing as large as the screen's dots allow, so that it is sharp."""
        path = guide.file_of(name if isinstance(name, str) else name.toString(), self.language)
        if path.suffix != ".svg" or not path.is_file():
            return super().loadResource(kind, name)
        reader, ratio = QImageReader(str(path)), self.devicePixelRatioF()
        reader.setScaledSize(reader.size() * ratio)
        image = reader.read()
        image.setDevicePixelRatio(ratio)
        return image


class GuideWindow(QDialog):
    """The pages on the left, the one chosen on the right."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.resize(1200, 780)
        self.browser = GuideBrowser()
        self.pages = QListWidget()
        self.pages.setWordWrap(True)
        self.pages.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        for _ in guide.PAGES:
            QListWidgetItem(self.pages).setSizeHint(QSize(0, touch()))
        self._label()
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

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802 - Qt's name
        """Go on in another language, at the page that was open."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.LanguageChange and self.browser.language != language():
            self.browser.speak()
            self._label()
            self._turn_to(self.pages.currentRow())

    def _label(self) -> None:
        self.setWindowTitle(tr("User's guide"))
        self.pages.setAccessibleName(tr("Pages of the guide"))
        for row, page in enumerate(guide.PAGES):
            self.pages.item(row).setText(guide.title(page, self.browser.language))

    def show_place(self, place: guide.Place) -> None:
        """Turn to a page, and to the heading that is named. Raises `KeyError` for no such place."""
        words = guide.heading_at(place, self.browser.language)
        self.pages.setCurrentRow(guide.PAGES.index(place.page))
        if place.anchor:
            self.browser.turn_to(words)

    def _turn_to(self, row: int) -> None:
        self.browser.show_page(guide.PAGES[row])

    def _follow(self, link: QUrl) -> None:
        place = guide.Place.parse(link.toString())
        page = place.page or guide.PAGES[self.pages.currentRow()]
        if page in guide.PAGES:
            self.show_place(guide.Place(page, place.anchor))
