"""The language of a report: what it needs of whoever knows the words."""

from __future__ import annotations

from typing import Protocol


class Speech(Protocol):
    """A language that a report is written in. The desk's words are one."""

    @property
    def language(self) -> str:
        """Its code, as a page names it: `en`, `de`."""

    def said(self, text: str) -> str:
        """A saying, a number or a known text in this language; what somebody wrote as it is."""


class _English:
    """As everything is written in the code."""

    language = "en"

    def said(self, text: str) -> str:
        return str(text)


ENGLISH: Speech = _English()
