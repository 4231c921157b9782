"""Reading machine sheets, and naming every fault of one with its key.

Keys are counted as a person counts: `check[2].band` is the second `[[check]]` table's band.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping
from datetime import date, datetime, time
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from gaugebench.analyse.settings import Sense as Stroke
from gaugebench.analyse.settings import Settings
from gaugebench.errors import SheetError
from gaugebench.model.schema import newer
from gaugebench.model.sheet import SCHEMA, Sheet
from gaugebench.model.terms import Sense
from gaugebench.procedure.crossref import cross_faults

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

_PLAIN = {
    "missing": "is missing",
    "extra_forbidden": "is not a key of this table; check its spelling",
    "enum": "“{input}” should be one of {expected}",
    "int_type": "“{input}” should be a whole number",
    "float_type": "“{input}” should be a number",
    "bool_type": "“{input}” should be true or false",
    "string_too_short": "must not be empty",
    "too_short": "needs at least one entry",
    "tuple_type": "should be a list in square brackets, or a table in double square brackets",
    "model_type": "should be a table",
    "model_attributes_type": "should be a table",
}
"""The words for each of the validator's kinds of error; any other kind keeps its own."""

_BARE = re.compile(r"[A-Za-z0-9_-]+")
"""A key that TOML takes without quotes."""


def check(path: Path) -> list[str]:
    """Every fault of the sheet in a TOML file, each with its key; empty where there is none."""
    try:
        data = _load(path)
    except SheetError as fault:
        return [str(fault)]
    return faults(data)


def read(path: Path) -> Sheet:
    """The sheet in a TOML file. Raises `SheetError` that names the first fault's key."""
    data = _load(path)
    found = faults(data)
    if found:
        more = f" (and {len(found) - 1} more; “gaugebench sheet check” names all)"
        raise SheetError(f"The sheet {path} is wrong: {found[0]}{more if found[1:] else ''}")
    return parse(data)


def parse(data: Mapping[str, Any]) -> Sheet:
    """The sheet in parsed TOML or JSON. Raises `SheetError` that names the first fault's key."""
    found = faults(data)
    if found:
        raise SheetError(found[0])
    return Sheet.model_validate_json(_as_json(data))


def load(path: Path) -> dict[str, Any]:
    """A file's parsed TOML, as a job keeps it. Raises `SheetError` as `read` does."""
    read(path)
    return _load(path)


def faults(data: Mapping[str, Any]) -> list[str]:
    """Every fault of parsed TOML: of single values first, then of names that refer to others."""
    if (why := newer(data, SCHEMA)) is not None:
        return [f"{why}."]
    found: list[str] = []
    try:
        text = _as_json(data)
    except (ValueError, RecursionError):
        return ["sheet: holds a number too long, or tables too deep, to be read; write it anew."]
    try:
        Sheet.model_validate_json(text)
    except ValidationError as fault:
        found.extend(
            f"{_key(error['loc'])}: {_words(error).removesuffix('.')}." for error in fault.errors()
        )
    found.extend(f"{key}: {text}." for key, text in cross_faults(data))
    return found


def blank() -> str:
    """The commented blank sheet, as text to save and fill in."""
    return files(__package__).joinpath("sheets/blank.toml").read_text(encoding="utf-8")


def invented() -> Sheet:
    """The sheet of the invented machine that demonstrations use."""
    return parse(invented_data())


def invented_data() -> dict[str, Any]:
    """The same sheet as parsed TOML, as a job keeps it."""
    text = files(__package__).joinpath("sheets/invented.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def settings(sheet: Sheet) -> Settings:
    """The analysis settings that follow from a sheet: which way the control pressure de-strokes.

    Load sensing is left to the trace, since its port may stand on either side of the regulator.
    """
    sense = {Sense.POSITIVE: Stroke.FALLING, Sense.NEGATIVE: Stroke.RISING}
    return Settings(control_sense=sense.get(sheet.machine.control, Stroke.AUTO))


def _load(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as fault:
        raise SheetError(f"The sheet {path} cannot be read: {fault.strerror}.") from fault
    except UnicodeDecodeError as fault:
        raise SheetError(f"The sheet {path} is not text in UTF-8; save it as UTF-8.") from fault
    except RecursionError as fault:
        raise SheetError(
            f"The sheet {path} is nested too deeply; write its tables flat."
        ) from fault
    except ValueError as fault:  # TOMLDecodeError, and a number with thousands of digits
        raise SheetError(f"The sheet {path} is not TOML: {fault}.") from fault


def _as_json(data: Mapping[str, Any]) -> str:
    # Through JSON, since only there does strict validation take a list for a tuple and a word
    # for one of an enumeration, while it still refuses a number where text is meant.
    def plain(value: object) -> str:
        if isinstance(value, date | datetime | time):
            return value.isoformat()
        raise TypeError(f"{type(value).__name__} cannot stand in a sheet")

    return json.dumps(data, default=plain)


def _key(parts: tuple[int | str, ...]) -> str:
    text = ""
    for part in parts:
        if isinstance(part, int):
            text += f"[{part + 1}]"
        else:
            text += f".{part if _BARE.fullmatch(part) else json.dumps(part, ensure_ascii=False)}"
    return text.removeprefix(".") or "sheet"


def _words(error: ErrorDetails) -> str:
    given = error["input"]
    if error["type"] == "string_type":
        if isinstance(given, int | float) and not isinstance(given, bool):
            return f"{given} has no unit; write it in quotes with its unit"
        return f"“{given}” should be text in quotes"
    plain = _PLAIN.get(error["type"])
    if plain is None:
        return error["msg"].removeprefix("Value error, ")
    return plain.format(input=given, expected=error.get("ctx", {}).get("expected", ""))
