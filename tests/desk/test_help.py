"""The guide in its window, by keys and clicks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt, QUrl
from PySide6.QtTest import QTest

from gaugebench import guide
from gaugebench.desk.helpview import GuideWindow

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot


@pytest.fixture
def window(qtbot: QtBot) -> GuideWindow:
    made = GuideWindow()
    qtbot.addWidget(made)
    made.show()
    return made


def test_every_page_can_be_turned_to_with_the_arrow_keys(window: GuideWindow) -> None:
    for page in guide.PAGES:
        assert guide.title(page) in window.browser.toPlainText()
        QTest.keyClick(window.pages, Qt.Key.Key_Down)


def test_a_link_leads_to_its_page(window: GuideWindow) -> None:
    window.browser.anchorClicked.emit(QUrl("kit.md"))
    assert guide.title("kit.md") in window.browser.toPlainText()
    window.browser.anchorClicked.emit(QUrl("mailto:nobody"))
    assert guide.title("kit.md") in window.browser.toPlainText()


def test_a_link_within_a_page_leads_to_the_heading_and_not_to_its_mention(
    window: GuideWindow,
) -> None:
    window.show_place(guide.Place("visit.md"))
    window.browser.anchorClicked.emit(QUrl("#13-release-and-let-go"))
    chosen = window.browser.textCursor()
    assert chosen.selectedText() == "13. Release and let go"
    assert chosen.block().blockFormat().headingLevel() == 2
    window.show_place(guide.Place("kit.md", "the-kit-file"))
    assert window.browser.textCursor().block().blockFormat().headingLevel() == 2


def test_a_heading_is_found(window: GuideWindow) -> None:
    heading = guide.headings("trouble.md")[2]
    window.show_place(guide.Place("trouble.md", heading.anchor))
    assert window.browser.textCursor().selectedText() == heading.words
