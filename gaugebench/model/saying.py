"""Sentences that remember what they were made of, so that a desk can say them in its language.

A `Saying` is the English text, and carries its template and values beside it; whoever shows it
looks the template up and fills in the values, each said in the same language. All other code takes
it for the text that it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Annotated, Any, Self

from pydantic import PlainSerializer, PlainValidator

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

    def __new__(cls, template: str, /, **values: str) -> Self:
        """The text, from a template with `{name}` places and what stands in them."""
        made = super().__new__(cls, fill(template, values))
        made.template = template
        made.values = values
        return made


class Number(str):
    """A text of numbers and units: the same in every language but for its decimal sign."""

    __slots__ = ()


def joined(parts: Iterable[str], between: str = "; ") -> str:
    """Texts one after the other, each kept as it is."""
    values = {f"part{n}": text for n, text in enumerate(parts)}
    return Saying(between.join(f"{{{name}}}" for name in values), **values)


def fixed(value: float, digits: int = 0) -> Number:
    """A number with so many decimals and a true minus."""
    return Number(f"{value:.{digits}f}".replace("-", "−"))


def _read(value: Any) -> str:
    """A saying from its JSON form; any other text stays what it is."""
    if isinstance(value, str):
        return value
    match value:
        case {"number": str(text)} if len(value) == 1:
            return Number(text)
        case {"says": str(template), "with": dict(values)} if len(value) == 2:
            try:
                return Saying(template, **{str(k): _read(v) for k, v in values.items()})
            except (KeyError, TypeError) as fault:
                raise ValueError("a saying lacks one of its values") from fault
    raise ValueError("should be text")


def _write(text: str) -> Any:
    """What keeps a text in JSON with all that it remembers."""
    match text:
        case Saying():
            return {"says": text.template, "with": {k: _write(v) for k, v in text.values.items()}}
        case Number():
            return {"number": str(text)}
        case _:
            return str(text)


Said = Annotated[str, PlainValidator(_read), PlainSerializer(_write)]
"""A text of an event: plain, or a saying that keeps its template on disk."""
