"""The chain that turns what a device said into what the program works with.

The chain is data, kept in the record beside the raw values, so that a wrong range or a later zero
can be put right afterwards.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass
from enum import StrEnum

import numpy as np

from gaugebench.model.arrays import F64, U16
from gaugebench.model.quality import UNUSABLE, Quality, flag


class Wiring(StrEnum):
    """How a transducer's signal reaches the converter."""

    DIRECT = "direct"
    """The device already reports in a unit."""
    RATIOMETRIC = "0.5-4.5 V"
    VOLTAGE = "0-10 V"
    CURRENT = "4-20 mA"
    BRIDGE = "mV/V"
    """A bare strain-gauge bridge: millivolts for each volt that feeds it."""


@dataclass(frozen=True, slots=True)
class SignalLimits:
    """The signal levels of a wiring, in the signal's own unit (V, mA or mV/V).

    Outside [fault_low, fault_high] is a fault and no number; outside [good_low, good_high] is
    suspect. The 4–20 mA levels are those of NAMUR NE 43; the others are common practice, no source.
    """

    low: float
    high: float
    fault_low: float
    good_low: float
    good_high: float
    fault_high: float


LIMITS = {
    Wiring.RATIOMETRIC: SignalLimits(0.5, 4.5, 0.25, 0.4, 4.6, 4.75),
    Wiring.VOLTAGE: SignalLimits(0.0, 10.0, -0.5, -0.1, 10.1, 10.5),
    Wiring.CURRENT: SignalLimits(4.0, 20.0, 3.6, 3.8, 20.5, 21.0),
}
BRIDGE_LIMITS = SignalLimits(0.0, 1.0, -0.5, -0.05, 1.05, 1.5)
"""Levels of a bridge, in shares of its sensitivity (common practice, no source).

A signal lead that came off lets the converter drift to an end of its scale, which is a fault; a
feed lead that came off leaves 0 mV, which only a measured supply tells from no pressure.
"""
NOMINAL_SUPPLY_V = 5.0
"""What feeds a ratiometric transducer, and a bridge that does not state its excitation."""
SUPPLY_BAND = (0.9, 1.1)
"""A measured supply outside these shares of its nominal value gives no number (4.5 V to 5.5 V)."""


@dataclass(frozen=True, slots=True)
class Chain:
    """From a raw value to the unit used inside.

    Step 1, to the signal's unit: `signal = raw * raw_factor + raw_offset` (V, mA, of a bridge mV).
    Where the signal follows its supply, it is then put in proportion to it: a RATIOMETRIC signal
    with a measured supply is `signal * 5 V / supply`, a BRIDGE's is `signal / supply`.
    Step 2, to the quantity: the transducer's range is spread over the wiring's levels; a DIRECT
    signal is already the quantity. Step 3: the calibration's `curve` turns what the transducer
    shows into what is: coefficients in the inside unit, lowest power first; empty where there is
    none. Step 4: `zero` (inside unit) is taken off.
    `range_low`, `range_high`: the transducer's range in the inside unit; None where not stated.
    `supply`: the name of the channel of the same stream that measures the supply, V; empty where
    none does. `excitation`: what feeds a bridge, V, as stated. `sensitivity`: a bridge's signal at
    `range_high` above that at `range_low`, mV/V.
    """

    wiring: Wiring = Wiring.DIRECT
    raw_factor: float = 1.0
    raw_offset: float = 0.0
    range_low: float | None = None
    range_high: float | None = None
    zero: float = 0.0
    curve: tuple[float, ...] = ()
    supply: str = ""
    excitation: float | None = None
    sensitivity: float | None = None

    def apply(self, raw: F64, quality: U16, supply_v: F64 | None = None) -> tuple[F64, U16]:
        """Values (inside unit, NaN where there is none) and the quality with what was noticed.

        `raw`, `quality` and `supply_v` (V, NaN where there is none; needed where the chain names a
        supply) have one shape, any; none is changed. Raises `ValueError` where the chain lacks what
        its wiring needs.
        """
        found = quality.copy()
        signal = raw * self.raw_factor + self.raw_offset
        flag(found, ~np.isfinite(signal), Quality.MISSING)
        if self.supply or self.wiring is Wiring.BRIDGE:
            signal = self._in_proportion(signal, supply_v, found)
        if self.wiring is Wiring.DIRECT:
            values = self._calibrated(signal) - self.zero
            if self.range_low is not None and self.range_high is not None:
                allowance = 0.02 * (self.range_high - self.range_low)
                flag(found, values > self.range_high + allowance, Quality.OVER_RANGE)
                flag(found, values < self.range_low - allowance, Quality.UNDER_RANGE)
        else:
            values = self._from_signal(signal, found)
        values[(found & np.uint16(UNUSABLE)) != 0] = np.nan
        return values, found

    @property
    def nominal_supply_v(self) -> float:
        """What the supply should be, V."""
        return self.excitation or NOMINAL_SUPPLY_V

    def _in_proportion(self, signal: F64, supply_v: F64 | None, found: U16) -> F64:
        """The signal at nominal supply, or of a bridge for each volt; NaN where unknown."""
        nominal = self.nominal_supply_v
        whole = 1.0 if self.wiring is Wiring.BRIDGE else nominal
        if not self.supply:
            if self.excitation is None:
                raise ValueError("a bridge needs its excitation, stated or measured")
            return signal * (whole / self.excitation)
        if supply_v is None:
            raise ValueError(f"the signal needs its supply, measured by “{self.supply}”")
        low, high = SUPPLY_BAND
        is_fed = (supply_v >= low * nominal) & (supply_v <= high * nominal)
        flag(found, ~is_fed, Quality.SUPPLY)
        return signal * whole / np.where(is_fed, supply_v, np.nan)

    def _limits(self) -> SignalLimits:
        if self.wiring is not Wiring.BRIDGE:
            return LIMITS[self.wiring]
        if self.sensitivity is None:
            raise ValueError("a bridge needs its sensitivity")
        return SignalLimits(*(share * self.sensitivity for share in astuple(BRIDGE_LIMITS)))

    def _from_signal(self, signal: F64, found: U16) -> F64:
        limits = self._limits()
        if self.range_low is None or self.range_high is None:
            raise ValueError("a transducer with an electrical signal needs a range")
        flag(found, signal < limits.fault_low, Quality.WIRE_OFF)
        flag(found, signal > limits.fault_high, Quality.WIRE_OFF)
        flag(found, (signal < limits.good_low) | (signal > limits.good_high), Quality.SUSPECT)
        flag(found, (signal > limits.high) & (signal <= limits.fault_high), Quality.OVER_RANGE)
        share = (signal - limits.low) / (limits.high - limits.low)
        shown = self.range_low + share * (self.range_high - self.range_low)
        return self._calibrated(shown) - self.zero

    def _calibrated(self, shown: F64) -> F64:
        if not self.curve:
            return shown
        return np.asarray(np.polynomial.polynomial.polyval(shown, np.array(self.curve)))


IDENTITY = Chain()
