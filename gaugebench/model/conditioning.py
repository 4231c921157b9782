"""The chain that turns what a device said into what the program works with.

The chain is data, kept in the record beside the raw values, so that a wrong range or a later zero
can be put right afterwards.
"""

from __future__ import annotations

from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class SignalLimits:
    """The signal levels of a wiring, in the signal's own unit (V or mA).

    Outside [suspect_low, suspect_high] is a fault and no number; outside [good_low, good_high] is
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


@dataclass(frozen=True, slots=True)
class Chain:
    """From a raw value to the unit used inside.

    Step 1, to the signal's unit: `signal = raw * raw_factor + raw_offset`.
    Step 2, to the quantity: the transducer's range is spread over the wiring's levels; a DIRECT
    signal is already the quantity. Step 3: the calibration's `curve` turns what the transducer
    shows into what is: coefficients in the inside unit, lowest power first; empty where there is
    none. Step 4: `zero` (inside unit) is taken off.
    `range_low`, `range_high`: the transducer's range in the inside unit; None where not stated.
    """

    wiring: Wiring = Wiring.DIRECT
    raw_factor: float = 1.0
    raw_offset: float = 0.0
    range_low: float | None = None
    range_high: float | None = None
    zero: float = 0.0
    curve: tuple[float, ...] = ()

    def apply(self, raw: F64, quality: U16) -> tuple[F64, U16]:
        """Values (inside unit, NaN where there is none) and the quality with what was noticed.

        `raw` and `quality` have one shape, any; neither is changed.
        """
        found = quality.copy()
        signal = raw * self.raw_factor + self.raw_offset
        flag(found, ~np.isfinite(signal), Quality.MISSING)
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

    def _from_signal(self, signal: F64, found: U16) -> F64:
        limits = LIMITS[self.wiring]
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
