"""How files with certain headings were read last, so that the next of a logger is read alike."""

from __future__ import annotations

import hashlib
import json

from gaugebench.desk.memory import Memory
from gaugebench.desk.review.reading import Look
from gaugebench.errors import TraceError
from gaugebench.store.importing.recipe import Recipe, recipe_from

KEY = "recipe/{}"


class Recipes:
    """Kept by the headings of the columns; None remembers nothing."""

    def __init__(self, memory: Memory | None = None) -> None:
        self._memory = memory

    def find(self, seen: Look) -> Recipe | None:
        """The recipe of the last file with these headings, or None."""
        if self._memory is None or not seen.columns:
            return None
        kept = self._memory.text(_key(seen), "")
        try:
            return recipe_from(json.loads(kept)) if kept else None
        except (ValueError, TraceError):
            return None  # written by another version: asked anew

    def keep(self, seen: Look) -> None:
        """Remember what was said about a file; what was found is found again."""
        if self._memory is not None and seen.columns:
            said = seen.said.model_dump_json(exclude_defaults=True)
            self._memory.keep(_key(seen), said if seen.said != Recipe() else "")


def _key(seen: Look) -> str:
    headings = "\n".join(c.text for c in seen.columns)
    return KEY.format(hashlib.sha256(headings.encode()).hexdigest()[:16])
