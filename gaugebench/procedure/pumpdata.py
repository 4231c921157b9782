"""What a machine sheet says of its pumps, for what stands beside a loading's figures."""

from __future__ import annotations

from gaugebench.analyse.conditions import PumpData
from gaugebench.model.sheet import Sheet
from gaugebench.quantity import Dimension, parse


def pump_data(sheet: Sheet) -> dict[int, PumpData]:
    """Each pump of the sheet by its number; displacement in m³ a turn."""
    return {
        pump.number: PumpData(
            None if pump.displacement is None else parse(pump.displacement, Dimension.VOLUME),
            pump.pistons,
            pump.drive_ratio,
        )
        for pump in sheet.pump
    }
