"""What a pump's control pressure says of a hold: the stroke, how it gave way, what holds."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from gaugebench.analyse.control import Control, read_control
from gaugebench.analyse.hold import Hold
from gaugebench.analyse.lever import is_part_lever
from gaugebench.analyse.limiter import limited_by, staged
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import Samples
from gaugebench.analyse.servo import is_servo, share_of_main
from gaugebench.analyse.settings import Sense
from gaugebench.analyse.torque import Slide, slide_of
from gaugebench.analyse.track import PumpSpan
from gaugebench.model.arrays import F64
from gaugebench.model.figures import LimitedBy, Limiter
from gaugebench.model.role import ControlPort
from gaugebench.model.saying import Saying, fixed

_EASED = LimitedBy(
    Limiter.UNCLEAR,
    "The pressure left its plateau before the lever was let go, as where a mass gets under way: "
    "the pump's flow may have gone into that, so the control pressure does not tell.",
)


@dataclass(frozen=True, slots=True, eq=False)
class Context:
    """What else is known. pilot: the pilot supply's pressure, Pa; port: where the control channel
    sits. total_times (s), total (Pa): shape (n,), the sum of all main pressures."""

    pilot: float | None = None
    port: ControlPort = ControlPort.UNKNOWN
    total_times: F64 = field(default_factory=lambda: np.empty(0))
    total: F64 = field(default_factory=lambda: np.empty(0))


@dataclass(frozen=True, slots=True, eq=False)
class Holding:
    """control: the stroke, None where it is not known. slide: how it gave way, None where it did
    not. port: as the kit says or the trace shows."""

    control: Control | None
    slide: Slide | None
    limited: LimitedBy
    port: ControlPort

    @property
    def follows_torque(self) -> bool:
        """Whether the torque limit, and not a cut-off, made the stroke give way."""
        loaded = self.limited.limiter in (Limiter.RELIEF, Limiter.BOOST)
        return self.slide is not None and loaded and self.slide.is_explained


def holding_of(
    control: Samples | None,
    main: Samples,
    span: PumpSpan,
    rise: Rise | None,
    hold: Hold,
    sense: Sense,
    context: Context,
) -> Holding:
    """What holds the pressure of one pump, from its control channel (None where there is none)."""
    if control is None or rise is None:
        return Holding(None, None, limited_by(None, context.port, None), context.port)
    servo = is_servo(control, hold, context.port, context.pilot)
    shown = share_of_main(control, main, hold) if servo else control
    port = ControlPort.SERVO if servo else context.port
    stroke = read_control(shown, span, rise, hold, sense, context.pilot, servo=servo)
    if stroke is None or port is ControlPort.SIGNAL:
        return Holding(stroke, None, limited_by(stroke, port, None), port)
    if span.eased:
        return Holding(stroke, None, _EASED, port)
    slide = slide_of(stroke, context.total_times, context.total, rise, hold)
    limited = staged(limited_by(stroke, port, slide), hold)
    if limited.limiter is Limiter.RELIEF and is_part_lever(stroke, main, rise, hold):
        limited = LimitedBy(
            Limiter.LEVER,
            Saying(
                "The lever was not full: the control pressure stands at {share} % of the way to "
                "full stroke while main pressure still climbs, and the climb dies away without a "
                "knee.",
                share=fixed(100 * stroke.settled / stroke.full),
            ),
        )
    return Holding(stroke, slide, limited, port)
