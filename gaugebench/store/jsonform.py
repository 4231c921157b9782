"""The shared plain data (model/*) as JSON and back, checked on the way in."""

from __future__ import annotations

from typing import Any, Generic, TypeVar

from pydantic import ConfigDict, TypeAdapter, ValidationError

T = TypeVar("T")

_CONFIG = ConfigDict(ser_json_bytes="base64", val_json_bytes="base64", ser_json_inf_nan="constants")


class Form(Generic[T]):
    """The codec of one of the model's dataclasses.

    Bytes travel as base64, NaN and infinities as JSON's customary constants. Fields that a newer
    version added are passed over.
    """

    def __init__(self, kind: type[T]) -> None:
        # Only a union may be given a configuration from outside.
        wrapped: Any = kind | None
        self._adapter: TypeAdapter[T | None] = TypeAdapter(wrapped, config=_CONFIG)

    def dump(self, value: T) -> bytes:
        """`value` as JSON."""
        return self._adapter.dump_json(value)

    def load(self, text: bytes) -> T:
        """What the JSON says. Raises `ValueError` where it does not fit."""
        try:
            value = self._adapter.validate_json(text)
        except ValidationError as fault:
            raise ValueError(str(fault)) from fault
        if value is None:
            raise ValueError("nothing where something was expected")
        return value


_FORMS: dict[type[Any], Form[Any]] = {}


def form(kind: type[T]) -> Form[T]:
    """The codec of `kind`, made once."""
    if kind not in _FORMS:
        _FORMS[kind] = Form(kind)
    return _FORMS[kind]
