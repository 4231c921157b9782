"""The words on the screen: English as written in the code, or another language's catalogue.

No Qt here, so that view models can speak too; `desk.language` opens the same catalogue to Qt.
A catalogue is a folder in `desk/catalogues/` with a TOML file a place: a table from the English
text to the translation. Words that several places share are in `frame.toml`.
"""

from __future__ import annotations

import re
import tomllib
from enum import StrEnum
from importlib.resources import files

from gaugebench.errors import GaugebenchError
from gaugebench.guide import Place
from gaugebench.guide.links import place_of
from gaugebench.model.saying import Saying, Written, fill
from gaugebench.quantity import Number

LANGUAGES = {"en": "English", "de": "Deutsch"}
_DECIMAL_SIGNS = {"de": ","}


def catalogue(language: str) -> dict[str, str]:
    """The catalogue of a language; empty for English. Raises `KeyError` for an unknown one."""
    if language == "en":
        return {}
    LANGUAGES[language]
    pages = files("gaugebench.desk").joinpath("catalogues", language).iterdir()
    tables = [tomllib.loads(page.read_text("utf-8"))["words"] for page in pages]
    return {str(text): str(said) for table in tables for text, said in table.items()}


_POINT = re.compile(r"(?<=\d)\.(?=\d)")


class Speaker:
    """Who says texts in one language. missing: what was asked for and is in no catalogue.

    Raises `KeyError` for an unknown language.
    """

    def __init__(self, language: str) -> None:
        self.language = language
        self.catalogue = catalogue(language)
        self.missing: set[str] = set()

    @property
    def decimal_sign(self) -> str:
        """What stands between whole and fraction."""
        return _DECIMAL_SIGNS.get(self.language, ".")

    def said(self, text: str) -> str:
        """A text of another room: a saying, a number, what somebody wrote, or a plain text.

        A plain text that the catalogue lacks stays as it is, since it may be a sheet's own words.
        """
        match text:
            case Saying():
                template = text.template
                has_words = any(c.isalpha() for c in _bare(template))
                found = self.look_up(template) if has_words else template
                return fill(found, {k: self.said(v) for k, v in text.values.items()})
            case Number():
                return _POINT.sub(self.decimal_sign, text)
            case Written():
                return str(text)
            case _:
                return self.catalogue.get(str(text)) or str(text)

    def look_up(self, text: str) -> str:
        """A text of the program; one that the catalogue lacks is noted as missing."""
        found = self.catalogue.get(text)
        if found is None:
            if self.catalogue:
                self.missing.add(text)
            found = text
        return found


class _Spoken:
    """Who speaks now."""

    def __init__(self) -> None:
        self.speaker = Speaker("en")


_spoken = _Spoken()


def speak(language: str) -> None:
    """Choose the language of every text that is asked for from now on."""
    _spoken.speaker = Speaker(language)


def speaker() -> Speaker:
    """Who speaks now, for what is to be said in one language to its end."""
    return _spoken.speaker


def language() -> str:
    """The code of the language spoken now."""
    return _spoken.speaker.language


def decimal_sign() -> str:
    """What stands between whole and fraction."""
    return _spoken.speaker.decimal_sign


def tr(text: str, /, **values: object) -> str:
    """`text` in the language spoken, with `{name}` places filled from `values`."""
    found = _spoken.speaker.look_up(text)
    own = (Saying, Number, StrEnum)
    shown = {k: said(v) if isinstance(v, own) else v for k, v in values.items()}
    return found.format(**shown) if shown else found


def said(text: str) -> str:
    """A text of another room in the language spoken; see `Speaker.said`."""
    return _spoken.speaker.said(text)


class Told(str):
    """What an error says, in the language spoken. place: where the guide explains such errors."""

    place: Place


def told(fault: GaugebenchError) -> Told:
    """What an error says, in the language spoken."""
    first = fault.args[0] if fault.args else ""
    made = Told(said(first) if isinstance(first, str) else str(fault))
    made.place = place_of(fault)
    return made


def _bare(template: str) -> str:
    """A template without its places."""
    return re.sub(r"\{\w+\}", "", template)


def missing() -> set[str]:
    """What was asked for and is not in the catalogue spoken; for whoever keeps it."""
    return set(_spoken.speaker.missing)


def known(text: str) -> str | None:
    """The translation of `text`, or None where the catalogue has none."""
    return _spoken.speaker.catalogue.get(text)
