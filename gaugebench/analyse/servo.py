"""The stroke as a servo port shows it: the share of main pressure that stands there.

The stroking piston is fed from main pressure, so the pressure at its port follows main × a share
that depends on the stroke. The share takes the place of the control pressure; it is given in Pa at
the level of the hold, so that noise and swings compare with other pressures.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaugebench.analyse.hold import Hold
from gaugebench.analyse.samples import Samples, sample_noise
from gaugebench.model.role import ControlPort

NO_PILOT_PA = 8e6
"""No pilot supply is so high (35 to 45 bar; common practice, no source)."""


def is_servo(control: Samples, hold: Hold, port: ControlPort, pilot: float | None) -> bool:
    """Whether the channel sits on the stroking piston: as the kit says, or, where it does not, as
    a pressure shows that no pilot supply can make. pilot: the supply's pressure, Pa."""
    if port is not ControlPort.UNKNOWN:
        return port is ControlPort.SERVO
    held = control.part(hold.start_s, hold.end_s)
    most = NO_PILOT_PA if pilot is None else max(1.5 * pilot, 0.5 * NO_PILOT_PA)
    return len(held) > 2 and float(np.median(held.values)) > most


def share_of_main(control: Samples, main: Samples, hold: Hold) -> Samples:
    """The control pressure as a share of main pressure, times the level of the hold, Pa.

    Where main is below a twentieth of the hold (nothing is pumped) it is taken as that.
    """
    pressure = np.interp(control.times, main.times, main.values)
    values = control.values / np.maximum(pressure, 0.05 * hold.level) * hold.level
    held = (control.times >= hold.start_s) & (control.times < hold.end_s)
    noise = sample_noise(values[held]) if held.any() else sample_noise(values)
    return replace(control, values=values, noise=noise)
