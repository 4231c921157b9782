"""Files that the user writes by hand carry the version of their schema; a newer one is not read."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def newer(data: Mapping[str, Any], known: int) -> str | None:
    """What to say of parsed TOML whose `schema` is above `known`, else None.

    It is asked before the rest is looked at: a newer file's new keys would be called wrong.
    """
    schema = data.get("schema")
    if isinstance(schema, bool) or not isinstance(schema, int) or schema <= known:
        return None
    return (
        f"schema: {schema} is from a newer version of the program, and this one reads up to "
        f"{known}; bring this one up to date"
    )
