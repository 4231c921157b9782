"""Qt's text browser shows every page: headings, tables, pictures, and no bare mark-up."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from gaugebench import guide

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot


@pytest.mark.parametrize("page", guide.PAGES)
def test_a_page_is_shown_whole(page: str, qtbot: QtBot) -> None:
    from PySide6.QtCore import QUrl
    from PySide6.QtGui import QTextDocument
    from PySide6.QtWidgets import QTextBrowser

    browser = QTextBrowser()
    qtbot.addWidget(browser)
    browser.setSearchPaths([str(guide.FOLDER)])
    browser.document().setMarkdown(
        guide.text(page), QTextDocument.MarkdownFeature.MarkdownDialectGitHub
    )
    browser.resize(900, 700)
    browser.show()
    shown = browser.toPlainText()
    for heading in guide.headings(page):
        assert heading.words in shown
    assert not re.search(r"\*\*|\]\(|^#|\|---", shown, re.MULTILINE)
    for picture in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", guide.text(page)):
        kind = int(QTextDocument.ResourceType.ImageResource.value)
        assert browser.document().resource(kind, QUrl(picture)) is not None
