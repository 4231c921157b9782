"""Texts of a sheet that are quantities: read once when the sheet is, and refused without a unit."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, TypeVar

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from gaugebench.errors import UnitError
from gaugebench.model.band import parse_band
from gaugebench.quantity import Dimension, parse

Answer = TypeVar("Answer")


def tell(call: Callable[..., Answer], *arguments: Any) -> Answer:
    """Call, with a `UnitError` made into the error that pydantic gathers."""
    try:
        return call(*arguments)
    except UnitError as fault:
        raise ValueError(str(fault)) from fault


def _quantity(dimension: Dimension) -> Any:
    def check(text: str) -> str:
        tell(parse, text, dimension)
        return text

    return AfterValidator(check)


def _span(dimension: Dimension) -> Any:
    def check(text: str) -> str:
        tell(parse_band, text, dimension)
        return text

    return AfterValidator(check)


Pressure = Annotated[str, _quantity(Dimension.PRESSURE)]
Length = Annotated[str, _quantity(Dimension.LENGTH)]
Volume = Annotated[str, _quantity(Dimension.VOLUME)]
Flow = Annotated[str, _quantity(Dimension.FLOW)]
Speed = Annotated[str, _quantity(Dimension.SPEED)]
Seconds = Annotated[str, _quantity(Dimension.TIME)]
Power = Annotated[str, _quantity(Dimension.POWER)]
Temperature = Annotated[str, _quantity(Dimension.TEMPERATURE)]
TemperatureBand = Annotated[str, _span(Dimension.TEMPERATURE)]
RatioBand = Annotated[str, _span(Dimension.RATIO)]
PressureBand = Annotated[str, _span(Dimension.PRESSURE)]
Name = Annotated[str, Field(min_length=1)]


class Table(BaseModel):
    """Base of every table of a sheet."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)
