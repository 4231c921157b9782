"""A kit as TOML text. No Qt.

The standard library reads TOML and does not write it; what a kit holds is simple enough.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gaugebench.errors import KitError

if TYPE_CHECKING:
    from gaugebench.model.kit import Kit


def as_data(kit: Kit) -> dict[str, Any]:
    """A kit as plain data, without what is left at its default."""
    data = kit.model_dump(mode="python", by_alias=True, exclude_defaults=True, exclude_none=True)
    return {"schema": kit.schema_version, "name": kit.name, **data}


def as_toml(data: Mapping[str, Any]) -> str:
    """A kit's data as TOML."""
    lines = [_pair(key, value) for key, value in data.items() if not _is_tables(value)]
    for source in data.get("source", ()):
        lines += ["", "[[source]]"]
        plain = {k: v for k, v in source.items() if k not in {"options", "channel"}}
        lines += [_pair(key, value) for key, value in plain.items()]
        if source.get("options"):
            lines += ["", "[source.options]"]
            lines += [_pair(key, value) for key, value in source["options"].items()]
        for channel in source.get("channel", ()):
            lines += ["", "[[source.channel]]"]
            lines += [_pair(key, value) for key, value in channel.items()]
    return "\n".join(lines) + "\n"


def save_kit(kit: Kit, path: Path) -> None:
    """Write a kit file. Raises `KitError` where it cannot be written."""
    try:
        path.write_text(as_toml(as_data(kit)), encoding="utf-8")
    except OSError as fault:
        raise KitError(
            f"The kit file {path} cannot be written: {fault.strerror}; choose another folder."
        ) from fault


def _is_tables(value: object) -> bool:
    return isinstance(value, (list, tuple)) and bool(value) and isinstance(value[0], Mapping)


def _pair(key: str, value: object) -> str:
    return f"{key} = {_value(value)}"


def _value(value: object) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case int():
            return str(value)
        case float():
            return repr(value)
        case date():
            return value.isoformat()
        case list() | tuple():
            return f"[{', '.join(_value(v) for v in value)}]"
        case _:
            # A JSON string is a TOML string, but for the one control character JSON lets through.
            return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f")
