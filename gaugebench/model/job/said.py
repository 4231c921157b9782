"""How the texts of events are kept on disk: with what they were made of, where they remember it."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import PlainSerializer, PlainValidator

from gaugebench.model.saying import Saying
from gaugebench.quantity import Number


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
