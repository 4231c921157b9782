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


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_line_of_a_page_is_laid_out(language: str, qtbot: QtBot) -> None:
    from gaugebench.desk.helpview import GuideBrowser

    browser = GuideBrowser()
    browser.language = language
    qtbot.addWidget(browser)
    browser.resize(940, 760)
    browser.show()

    def unseen() -> list[str]:
        document = browser.document()
        blocks = [document.findBlockByNumber(n) for n in range(document.blockCount())]
        return [b.text() for b in blocks if b.text() and not b.layout().lineCount()]

    for page in guide.PAGES:
        browser.show_page(page)
        qtbot.waitUntil(lambda: not unseen(), timeout=20_000)


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
