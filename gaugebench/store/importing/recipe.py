"""How a logger's file is read: found once, checked by the user, applied to the next file."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from gaugebench.errors import TraceError
from gaugebench.model.role import Role


class Recipe(BaseModel):
    """Everything that may be said about a text file. What is None or empty is found out.

    Columns are named as in the header, with or without their unit. Lines count from 1.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    encoding: str | None = None
    separator: Literal[",", ";", "\t", "|", " "] | None = None
    decimal: Literal[".", ","] | None = None
    thousands: Literal[".", ",", " ", "'", ""] | None = None
    header_line: int | None = Field(default=None, ge=0)
    """0: there is no header; columns are then called `column 1`, `column 2` …"""
    time_column: str | None = None
    time_unit: str | None = None
    """s, ms, us, ns, min, h, days (of a spreadsheet), epoch-s or epoch-ms."""
    date_order: Literal["dmy", "mdy", "ymd"] | None = None
    rate_hz: float | None = Field(default=None, gt=0)
    """The rate at which a counter counts, or rows follow where there is no time column."""
    roles: dict[str, str] = Field(default_factory=dict)
    units: dict[str, str] = Field(default_factory=dict)
    """Units of columns that do not state theirs, or state it wrongly."""
    missing: tuple[str, ...] = ()
    """Further words that stand for “no number”."""
    drop_duplicates: bool = False
    """Leave out rows whose time and values all equal those of the row before."""

    @field_validator("roles")
    @classmethod
    def _known_roles(cls, roles: dict[str, str]) -> dict[str, str]:
        for role in roles.values():
            Role.parse(role)
        return roles


def recipe_from(data: dict[str, Any]) -> Recipe:
    """A checked recipe. Raises `TraceError` naming the key."""
    try:
        return Recipe.model_validate(data)
    except ValidationError as fault:
        first = fault.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "recipe"
        said = first["msg"].removeprefix("Value error, ")
        raise TraceError(f"The way to read the file is wrong at “{where}”: {said}.") from fault


def recipe_with(roles: Mapping[str, Role], flags: Mapping[str, Any]) -> Recipe:
    """One recipe from what was said in several ways; flags win over a whole recipe."""
    given = dict(flags)
    base = given.pop("recipe", None)
    data = base.model_dump(exclude_defaults=True) if isinstance(base, Recipe) else dict(base or {})
    data |= given
    data["roles"] = {**data.get("roles", {}), **{n: str(r) for n, r in roles.items()}}
    return recipe_from(data)


def load_recipe(path: Path) -> Recipe:
    """A recipe in a TOML or JSON file. Raises `TraceError`."""
    try:
        text = path.read_text(encoding="utf-8-sig")
        data = json.loads(text) if path.suffix == ".json" else tomllib.loads(text)
    except (OSError, ValueError) as fault:
        raise TraceError(f"The recipe {path} cannot be read: {fault}.") from fault
    if not isinstance(data, dict):
        raise TraceError(f"The recipe {path} holds no table.")
    return recipe_from(data)


def save_recipe(recipe: Recipe, path: Path) -> None:
    """Write a recipe as JSON; the file must not exist yet. Raises `TraceError`."""
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(recipe.model_dump_json(indent=2, exclude_defaults=True) + "\n")
    except OSError as fault:
        raise TraceError(f"The recipe {path} cannot be written: {fault.strerror}.") from fault
