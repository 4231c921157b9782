"""What a fault costs: heat sent over reliefs, power that is missing, and their fuel.

Every number is an estimate with bounds and says on what it rests.
"""

from __future__ import annotations

from dataclasses import dataclass

from gaugebench.analyse.power import fuel_for
from gaugebench.model.saying import Saying, fixed
from gaugebench.model.sheet import Sheet
from gaugebench.model.terms import Engine, Measures, Stage
from gaugebench.procedure.facts import OVER_RELIEF
from gaugebench.procedure.rules import hint
from gaugebench.procedure.state import JobState
from gaugebench.quantity import Dimension, parse


@dataclass(frozen=True, slots=True)
class Cost:
    """A power and its fuel, each from a low to a high bound. kW and L/h."""

    what: str
    kw: tuple[float, float]
    litres_per_hour: tuple[float, float]
    assumes: str

    @property
    def text(self) -> str:
        """The cost in one sentence, with the word estimate."""
        return Saying(
            "{what}: {range} kW, {range2} L/h of fuel (estimate; {assumes})",
            what=self.what,
            range=_range(self.kw),
            range2=_range(self.litres_per_hour),
            assumes=self.assumes,
        )


def heat_over_relief(
    sheet: Sheet, pump: int, pressure_pa: float, rpm: float, share: tuple[float, float]
) -> Cost | None:
    """Heat while a pump's oil goes over a relief, from its displacement and the engine's speed.

    pressure_pa: gauge, over the valve. share: low and high bound of the part of its full flow that
    goes over. None where the sheet states no displacement.
    """
    entry = next((p for p in sheet.pump if p.number == pump), None)
    if entry is None or entry.displacement is None:
        return None
    flow = parse(entry.displacement, Dimension.VOLUME) * rpm * entry.drive_ratio / 60
    efficiency = hint("fuel", "pump_efficiency")
    kw = (
        pressure_pa * flow * share[0] * efficiency[0] / 1e3,
        pressure_pa * flow * share[1] * efficiency[1] / 1e3,
    )
    part = Saying(
        "{share} to {share2} %", share=fixed(100 * share[0]), share2=fixed(100 * share[1])
    )
    assumes = Saying(
        "{part} of pump {pump}'s full flow at {rpm} rpm", part=part, pump=pump, rpm=fixed(rpm)
    )
    return _with_fuel(Saying("Heat over the relief of pump {pump}", pump=pump), kw, assumes)


def of_job(state: JobState) -> tuple[Cost, ...]:
    """Heat of each pump whose oil goes over its relief instead of being cut off, as last read.

    At the engine speed of the high-idle check; half to all of the pump's flow goes over.
    """
    idle = [c for c in state.sheet.check if c.stage is Stage.ENGINE and c.engine is Engine.HIGH]
    speeds = [r.value.value for c in idle if (r := state.latest(c.key)) is not None]
    found = []
    for check in state.sheet.check:
        reading = state.latest(check.key)
        pump = check.role.pump
        if check.figure is not Measures.CUT_OFF or reading is None or pump is None or not speeds:
            continue
        if reading.limiter in OVER_RELIEF:
            cost = heat_over_relief(state.sheet, pump, reading.value.value, speeds[-1], (0.5, 1.0))
            found += [cost] if cost else []
    return tuple(found)


def short_of_engine(sheet: Sheet, hydraulic_w: float, expanded_w: float) -> Cost | None:
    """Power that the pumps take less than the engine gives. None where the sheet states none."""
    if sheet.machine.power is None:
        return None
    rated = parse(sheet.machine.power, Dimension.POWER)
    low, high = hint("fuel", "pump_efficiency")
    # What the pumps take from the engine lies between their output over the two efficiencies.
    most = (hydraulic_w + expanded_w) / low
    least = max(0.0, hydraulic_w - expanded_w) / high
    kw = (max(0.0, rated - most) / 1e3, max(0.0, rated - least) / 1e3)
    return _with_fuel(
        "Power short of the engine's", kw, Saying("engine {power}", power=sheet.machine.power)
    )


def _with_fuel(what: str, kw: tuple[float, float], assumes: str) -> Cost:
    grams = hint("fuel", "grams_per_kwh")
    density = 1000 * float(hint("fuel", "kg_per_litre"))
    efficiency = hint("fuel", "pump_efficiency")
    low = fuel_for(1e3 * kw[0], grams[0], drive_efficiency=efficiency[1], density=density)
    high = fuel_for(1e3 * kw[1], grams[1], drive_efficiency=efficiency[0], density=density)
    words = Saying(
        "{assumes}, {grams} to {grams2} g of fuel a kWh",
        assumes=assumes,
        grams=fixed(grams[0]),
        grams2=fixed(grams[1]),
    )
    return Cost(what, kw, (low.litres_per_hour, high.litres_per_hour), words)


def _range(pair: tuple[float, float]) -> str:
    return Saying("{pair} to {pair2}", pair=fixed(pair[0], 1), pair2=fixed(pair[1], 1))
