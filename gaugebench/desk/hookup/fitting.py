"""How a transducer is fitted: adapter, hose bore, hose length, hose rating. No Qt.

A kit keeps it as one line of text, which is written and read here.
"""

from __future__ import annotations

from dataclasses import dataclass

from gaugebench.desk.words import tr
from gaugebench.errors import UnitError
from gaugebench.quantity import Dimension, parse

_WORDS = {"bore": "hose bore ", "length": "hose length ", "rating": "hose rated "}
_DIMENSIONS = {
    "bore": Dimension.LENGTH,
    "length": Dimension.LENGTH,
    "rating": Dimension.PRESSURE,
}


@dataclass(frozen=True, slots=True)
class Fitting:
    """One port's fitting, as typed; quantities with their unit. Empty: not stated."""

    adapter: str = ""
    bore: str = ""
    length: str = ""
    rating: str = ""

    @staticmethod
    def of(text: str) -> Fitting:
        """Read it from a kit's line; what is not understood is kept as the adapter."""
        found = {"bore": "", "length": "", "rating": ""}
        adapter = []
        for part in (p.strip() for p in text.split(";")):
            key = next((k for k, words in _WORDS.items() if part.startswith(words)), None)
            if key is not None and not found[key]:
                found[key] = part.removeprefix(_WORDS[key]).strip()
            elif part:
                adapter.append(part)
        return Fitting("; ".join(adapter), **found)

    @property
    def text(self) -> str:
        """The kit's line."""
        parts = [self.adapter.strip()]
        parts += [words + v for k, words in _WORDS.items() if (v := getattr(self, k).strip())]
        return "; ".join(p for p in parts if p)

    @property
    def rating_pa(self) -> float | None:
        """What the hose is rated for, Pa; None where it is not stated."""
        try:
            return parse(self.rating, Dimension.PRESSURE) if self.rating.strip() else None
        except UnitError:
            return None  # `fault` says so

    @property
    def is_stated(self) -> bool:
        """Whether enough is written down: an adapter, and of a hose its bore and length."""
        has_hose = bool(self.bore or self.length or self.rating)
        return bool(self.adapter.strip()) and (not has_hose or bool(self.bore and self.length))

    @property
    def fault(self) -> str:
        """What cannot be read, in a sentence; empty where all is well."""
        for key, dimension in _DIMENSIONS.items():
            typed = getattr(self, key).strip()
            try:
                is_wrong = bool(typed) and parse(typed, dimension) <= 0
            except UnitError as fault:
                return str(fault)
            if is_wrong:
                return tr("“{typed}” is not above zero; write for example 2 mm.", typed=typed)
        return ""
