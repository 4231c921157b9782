"""Sentences that remember what they were made of, so that a desk can say them in its language.

A `Saying` is the English text, and carries its template and values beside it; whoever shows it
looks the template up and fills in the values, each said in the same language. All other code takes
it for the text that it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Self

from gaugebench.quantity import Number

_PLACE = re.compile(r"\{(\w+)\}")


def fill(template: str, values: Mapping[str, str]) -> str:
    """The template with its places filled. Raises `KeyError` for a place without a value.

    Places are plain names, so that a template from a file can ask for nothing but its values.
    """
    return _PLACE.sub(lambda place: values[place[1]], template)


class Saying(str):
    """`Saying("Read “{title}” first.", title=check.title)`. Values are text or sayings again."""

    __slots__ = ("template", "values")
    template: str
    values: Mapping[str, str]

    def __new__(cls, template: str, /, **values: object) -> Self:
        """The text, from a template with `{name}` places and what stands in them."""
        texts = {name: v if isinstance(v, str) else str(v) for name, v in values.items()}
        made = super().__new__(cls, fill(template, texts))
        made.template = template
        made.values = texts
        return made


class Written(str):
    """What a person, a sheet or a file wrote: shown as it is in every language."""

    __slots__ = ()


def joined(parts: Iterable[str], between: str = "; ") -> str:
    """Texts one after the other, each kept as it is."""
    values = {f"part{n}": text for n, text in enumerate(parts)}
    return Saying(between.join(f"{{{name}}}" for name in values), **values)


def fixed(value: float, digits: int = 0) -> Number:
    """A number with so many decimals and a true minus."""
    return Number(f"{value:.{digits}f}".replace("-", "−"))
