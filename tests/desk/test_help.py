"""The guide in its window, by keys and clicks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QSettings, Qt, QUrl
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from gaugebench import guide
from gaugebench.desk.helpview import GuideWindow
from gaugebench.desk.language import switch
from gaugebench.desk.memory import Memory
from gaugebench.desk.window import DeskWindow
from gaugebench.desk.words import Told, told
from gaugebench.desk.work import Workers
from gaugebench.errors import KitError, TraceError
from gaugebench.guide.links import PLACES

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

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


@pytest.fixture
def german(qapp: QApplication) -> Iterator[None]:
    switch(qapp, "de")
    yield
    switch(qapp, "en")


@pytest.mark.usefixtures("german")
def test_the_german_desk_has_a_german_guide(window: GuideWindow) -> None:
    assert window.windowTitle() == "Handbuch"
    shown = [window.pages.item(row).text() for row in range(window.pages.count())]
    assert shown == [guide.title(page, "de") for page in guide.PAGES]
    for place in PLACES.values():
        window.show_place(place)
        heading = guide.heading_at(place, "de")
        assert heading != guide.heading_at(place)
        assert window.browser.textCursor().selectedText() == heading
    window.browser.anchorClicked.emit(QUrl("visit.md#13-release-and-let-go"))
    assert window.browser.textCursor().selectedText() == guide.heading_at(
        guide.Place("visit.md", "13-release-and-let-go"), "de"
    )


def test_the_guide_goes_on_in_the_language_that_is_chosen(
    window: GuideWindow, qapp: QApplication, qtbot: QtBot
) -> None:
    window.show_place(guide.Place("kit.md"))
    switch(qapp, "de")
    qtbot.waitUntil(lambda: window.windowTitle() == "Handbuch", timeout=20_000)
    assert guide.title("kit.md", "de") in window.browser.toPlainText()
    switch(qapp, "en")
    qtbot.waitUntil(lambda: window.windowTitle() == "User's guide", timeout=20_000)
    assert guide.title("kit.md") in window.browser.toPlainText()


@pytest.mark.usefixtures("german")
def test_a_page_without_german_says_that_it_is_english(
    window: GuideWindow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "kit.md").write_text(guide.text("kit.md"), encoding="utf-8")
    monkeypatch.setattr(guide, "FOLDER", tmp_path)
    window.browser.show_page("kit.md")
    assert window.browser.toPlainText().startswith("Diese Seite ist noch nicht übersetzt")
    assert guide.title("kit.md") in window.browser.toPlainText()


def test_an_error_leads_to_where_the_guide_explains_it(qtbot: QtBot, tmp_path: Path) -> None:
    window = DeskWindow(Memory(QSettings(str(tmp_path / "desk.ini"), QSettings.Format.IniFormat)))
    qtbot.addWidget(window)
    window.show()
    notice = window.hookup.pages.notice
    notice.say("Every port reads about nothing.")
    assert not notice.explain_button.isVisibleTo(window)
    notice.say(told(KitError("The kit has no name.")))
    assert notice.explain_button.isVisibleTo(window)
    notice.explain_button.click()
    (guide_window,) = window.findChildren(GuideWindow)
    assert guide_window.isVisible()
    assert guide_window.browser.textCursor().selectedText() == "The kit file"
    guide_window.close()


def test_what_a_worker_could_not_do_keeps_its_place(qtbot: QtBot) -> None:
    workers, heard = Workers(), list[str]()

    def job() -> None:
        raise TraceError("It is cut short.")

    workers.run(job, lambda _: None, heard.append)
    qtbot.waitUntil(lambda: bool(heard), timeout=20_000)
    workers.close()
    assert isinstance(heard[0], Told)
    assert heard[0].place == PLACES[TraceError]
