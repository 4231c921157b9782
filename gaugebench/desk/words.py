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
from gaugebench.model.saying import Saying, fill
from gaugebench.quantity import Number

LANGUAGES = {"en": "English", "de": "Deutsch"}
_DECIMAL_SIGNS = {"de": ","}


class _Spoken:
    """What is spoken now."""

    def __init__(self) -> None:
        self.language = "en"
        self.catalogue: dict[str, str] = {}
        self.missing: set[str] = set()


_spoken = _Spoken()


def catalogue(language: str) -> dict[str, str]:
    """The catalogue of a language; empty for English. Raises `KeyError` for an unknown one."""
    if language == "en":
        return {}
    LANGUAGES[language]
    pages = files("gaugebench.desk").joinpath("catalogues", language).iterdir()
    tables = [tomllib.loads(page.read_text("utf-8"))["words"] for page in pages]
    return {str(text): str(said) for table in tables for text, said in table.items()}


def speak(language: str) -> None:
    """Choose the language of every text that is asked for from now on."""
    _spoken.catalogue = catalogue(language)
    _spoken.missing = set()
    _spoken.language = language


def language() -> str:
    """The code of the language spoken now."""
    return _spoken.language


def decimal_sign() -> str:
    """What stands between whole and fraction."""
    return _DECIMAL_SIGNS.get(_spoken.language, ".")


def tr(text: str, /, **values: object) -> str:
    """`text` in the language spoken, with `{name}` places filled from `values`."""
    found = _look_up(text)
    own = (Saying, Number, StrEnum)
    shown = {k: said(v) if isinstance(v, own) else v for k, v in values.items()}
    return found.format(**shown) if shown else found


def said(text: str) -> str:
    """A text of another room in the language spoken: a saying, a number, or a plain text.

    A plain text that the catalogue lacks stays as it is, since it may be a sheet's own words.
    """
    match text:
        case Saying():
            template = text.template
            found = _look_up(template) if any(c.isalpha() for c in _bare(template)) else template
            return fill(found, {k: said(v) for k, v in text.values.items()})
        case Number():
            return _POINT.sub(decimal_sign(), text)
        case _:
            return known(str(text)) or str(text)


class Told(str):
    """What an error says, in the language spoken. place: where the guide explains such errors."""

    place: Place


def told(fault: GaugebenchError) -> Told:
    """What an error says, in the language spoken."""
    first = fault.args[0] if fault.args else ""
    made = Told(said(first) if isinstance(first, str) else str(fault))
    made.place = place_of(fault)
    return made


_POINT = re.compile(r"(?<=\d)\.(?=\d)")


def _bare(template: str) -> str:
    """A template without its places."""
    return re.sub(r"\{\w+\}", "", template)


def _look_up(text: str) -> str:
    found = _spoken.catalogue.get(text)
    if found is None:
        if _spoken.catalogue:
            _spoken.missing.add(text)
        found = text
    return found


def missing() -> set[str]:
    """What was asked for and is not in the catalogue spoken; for whoever keeps it."""
    return set(_spoken.missing)


def known(text: str) -> str | None:
    """The translation of `text`, or None where the catalogue has none."""
    return _spoken.catalogue.get(text)
