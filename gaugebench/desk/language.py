"""The catalogue opened to Qt, so that its own buttons and dialogs are asked for in it too."""

from __future__ import annotations

from PySide6.QtCore import QLibraryInfo, QTranslator
from PySide6.QtWidgets import QApplication

from gaugebench.desk.words import LANGUAGES, known, speak


class CatalogueTranslator(QTranslator):
    """Answers Qt's `tr` from the catalogue; what is not in it is left to other translators."""

    def translate(
        self,
        context: str,  # noqa: ARG002 - one catalogue for all contexts
        source: str,
        disambiguation: str | None = None,  # noqa: ARG002
        n: int = -1,  # noqa: ARG002
    ) -> str:
        """The translation, or nothing, which lets Qt ask the next translator."""
        found = known(source)
        return found if found is not None else None  # type: ignore[return-value]

    def isEmpty(self) -> bool:  # noqa: N802 - Qt's name
        """There is always a catalogue behind it."""
        return False


_worn: list[QTranslator] = []
"""The translators in force."""


def switch(app: QApplication, language: str) -> None:
    """Speak another language from now on; what is on the screen keeps the old one."""
    while _worn:
        app.removeTranslator(_worn.pop())
    _worn.extend(install(app, language))


def install(app: QApplication, language: str) -> list[QTranslator]:
    """Speak a language from now on; the translators, which the caller keeps alive."""
    speak(language if language in LANGUAGES else "en")
    if language == "en":
        return []
    made: list[QTranslator] = [CatalogueTranslator(app)]
    own = QTranslator(app)
    folder = QLibraryInfo.path(QLibraryInfo.LibraryPath.TranslationsPath)
    if own.load(f"qtbase_{language}", folder):
        made.append(own)
    for translator in made:
        app.installTranslator(translator)
    return made
