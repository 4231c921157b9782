"""Tables of a sheet that say what is checked, and the limits that it is held against."""

from __future__ import annotations

from pydantic import ValidationInfo, field_validator

from gaugebench.model.band import Band, parse_band
from gaugebench.model.role import Role
from gaugebench.model.sheet.quantities import (
    Length,
    Name,
    RatioBand,
    Seconds,
    Table,
    Temperature,
    TemperatureBand,
    tell,
)
from gaugebench.model.terms import Engine, Lever, Measures, Stage
from gaugebench.quantity import Dimension

_DIMENSIONS = {
    Measures.CYCLE: Dimension.TIME,
    Measures.FLOW: Dimension.FLOW,
    Measures.IMBALANCE: Dimension.RATIO,
    Measures.DROP: Dimension.SPEED,
    Measures.DEVIATION: Dimension.LENGTH,
}

HELD = frozenset({Measures.RELIEF, Measures.CUT_OFF, Measures.SETTLED, Measures.CONTROL})
"""Figures that are taken while a function stands against its stop."""


class Check(Table):
    """A `[[check]]` table."""

    key: Name
    title: Name
    stage: Stage
    figure: Measures
    measures: str
    function: str | None = None
    engine: Engine
    mode: str = ""
    lever: Lever = Lever.NEUTRAL
    stop: str = ""
    hold: Seconds = "5 s"
    oil: TemperatureBand | None = None
    band: str | None = None
    source: str = ""
    corrected: bool = False
    """A cycle time that may also be given at rated speed."""
    screws: tuple[Name, ...] = ()
    needs: tuple[Name, ...] = ()
    cautions: tuple[Name, ...] = ()

    @field_validator("measures")
    @classmethod
    def _role(cls, value: str) -> str:
        tell(Role.parse, value)
        return value

    @field_validator("band")
    @classmethod
    def _band(cls, value: str | None, info: ValidationInfo) -> str | None:
        figure, role = info.data.get("figure"), info.data.get("measures")
        if value is not None and figure is not None and role is not None:
            tell(parse_band, value, figure_dimension(figure, Role(role)))
        return value

    @property
    def role(self) -> Role:
        """The role it measures."""
        return Role(self.measures)

    @property
    def dimension(self) -> Dimension:
        """What kind of quantity its figure is."""
        return figure_dimension(self.figure, self.role)

    @property
    def limits(self) -> Band | None:
        """Its band, or None where the sheet gives none."""
        return None if self.band is None else parse_band(self.band, self.dimension)

    @property
    def loads(self) -> bool:
        """Whether it needs a function driven against its stop."""
        return self.figure in HELD


class Travel(Table):
    """The `[travel]` table. The limit has no default: the sheet or the user states it."""

    distance: Length = "20 m"
    limit: Length | None = None
    source: str = ""


class Balance(Table):
    """The `[balance]` table: how far two pumps may differ, each with the sheet's own source."""

    separate: RatioBand | None = None
    shared: RatioBand | None = None
    travel: RatioBand | None = None
    source: str = ""


class Stall(Table):
    """The `[stall]` table: how long oil may go over a relief (common practice where left out)."""

    usual: Seconds = "5 s"
    never: Seconds = "10 s"
    rest: Seconds = "30 s"
    tank_stop: Temperature = "80 °C"


def figure_dimension(figure: Measures, role: Role) -> Dimension:
    """What kind of quantity a figure taken from a role is."""
    return _DIMENSIONS.get(figure, role.dimension)
