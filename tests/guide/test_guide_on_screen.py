"""Qt's text browser shows every page: headings, tables, pictures, and no bare mark-up."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from gaugebench import guide

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("page", guide.PAGES)
def test_a_page_is_shown_whole(page: str, language: str, qtbot: QtBot) -> None:
    from PySide6.QtCore import QUrl
    from PySide6.QtGui import QTextDocument, QTextTable

    from gaugebench.desk.helpview import GuideBrowser

    browser = GuideBrowser()
    browser.language = language
    qtbot.addWidget(browser)
    browser.show_page(page)
    browser.resize(900, 700)
    browser.show()
    shown = browser.toPlainText()
    for heading in guide.headings(page, language):
        assert heading.words in shown
    assert not re.search(r"\*\*|\]\(|^#|\|---", shown, re.MULTILINE)
    for picture in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", guide.text(page, language)):
        kind = int(QTextDocument.ResourceType.ImageResource.value)
        assert not browser.document().resource(kind, QUrl(picture)).isNull()
    tables = [f for f in browser.document().rootFrame().childFrames() if isinstance(f, QTextTable)]
    assert len(tables) == guide.text(page, language).count("\n|---")
    assert all(t.format().bottomMargin() > 0 for t in tables)


def test_drawings_have_the_dots_of_a_fine_screen(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    from PySide6.QtCore import QUrl
    from PySide6.QtGui import QTextDocument

    from gaugebench.desk.helpview import GuideBrowser

    browser = GuideBrowser()
    qtbot.addWidget(browser)
    kind = int(QTextDocument.ResourceType.ImageResource.value)
    plain = browser.loadResource(kind, QUrl("pictures/kit.svg"))
    monkeypatch.setattr(browser, "devicePixelRatioF", lambda: 2.0)
    fine = browser.loadResource(kind, QUrl("pictures/kit.svg"))
    assert fine.size() == plain.size() * 2
    assert fine.deviceIndependentSize() == plain.deviceIndependentSize()
