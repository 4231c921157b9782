"""What a port can see against what its transducer is made for: before anything is connected. No Qt.

Which port can see how much is common practice, no source; the machine's own sheet always wins.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from gaugebench.desk.names import channel_title
from gaugebench.desk.shown import Shown
from gaugebench.desk.words import tr
from gaugebench.model.channel import Channel
from gaugebench.model.role import ControlPort, Port
from gaugebench.quantity import Dimension

PILOT_MOST_PA = 4.5e6
"""A pilot circuit's supply, with its relief failed shut left out."""
RETURN_MOST_PA = 2.5e6
ROOM = 1.25
"""A spike goes above the relief's setting; a quarter of room is asked for."""
_FULL = {"load_sense"}
_RETURN = {"return.pressure", "case.pressure"}


class Verdict(StrEnum):
    """Whether a transducer may be connected."""

    GOOD = "may be connected"
    CARE = "with care"
    STOP = "STOP"
    UNKNOWN = "not known"


@dataclass(frozen=True, slots=True)
class RangeCheck:
    """One port's verdict, in words."""

    verdict: Verdict
    words: str


def most_at(channel: Channel, highest_pa: float) -> tuple[float, str]:
    """The most that a port can see, Pa, and why; highest_pa: the machine's highest relief."""
    role = channel.role
    if role is None:
        return highest_pa, tr("its port is not named, so it may be any")
    if role.port is Port.MAIN or role.name in _FULL:
        return highest_pa, tr("it sees pump pressure")
    if role.port is Port.CONTROL:
        if channel.control_port is ControlPort.SIGNAL:
            return PILOT_MOST_PA, tr("a signal port sees pilot pressure")
        if channel.control_port is ControlPort.UNKNOWN:
            return highest_pa, tr("which control port it is was not said; a servo port can see full"
                                  " pump pressure")  # fmt: skip
        return highest_pa, tr("a servo port can see full pump pressure")
    if role.name in _RETURN:
        return RETURN_MOST_PA, tr("a return line can surge")
    return PILOT_MOST_PA, tr("it sees pilot pressure")


def check(channel: Channel, highest_pa: float | None, shown: Shown) -> RangeCheck:
    """Whether this transducer may be connected to its port."""
    if channel.dimension is not Dimension.PRESSURE:
        return RangeCheck(Verdict.GOOD, tr("no pressure"))
    top = channel.chain.range_high
    if top is None:
        return RangeCheck(Verdict.UNKNOWN, tr("State the transducer's range first."))
    if highest_pa is None:
        return RangeCheck(Verdict.UNKNOWN, tr("State the machine's highest relief first."))
    most, why = most_at(channel, highest_pa)
    said = {
        "port": channel_title(channel),
        "most": shown.text(most, Dimension.PRESSURE),
        "top": shown.text(top, Dimension.PRESSURE),
        "why": why,
    }
    proof, burst = channel.transducer.proof_pa, channel.transducer.burst_pa
    if burst is not None and most >= burst:
        said["burst"] = shown.text(burst, Dimension.PRESSURE)
        text = tr(
            "STOP: {port} can see {most} ({why}) and its transducer bursts at {burst}.", **said
        )
        return RangeCheck(Verdict.STOP, text)
    is_regulated = channel.control_port is ControlPort.REGULATED
    if most > top and is_regulated:
        text = tr(
            "{port}: on some machines a regulated port can see {most}; this transducer ends at"
            " {top}. Look in the machine's sheet first.",
            **said,
        )
        return RangeCheck(Verdict.CARE, text)
    if most > top and (proof is None or most > proof):
        text = tr(
            "STOP: {port} can see {most} ({why}); its transducer ends at {top}. Fit one with a"
            " larger range.",
            **said,
        )
        return RangeCheck(Verdict.STOP, text)
    if most > top:
        text = tr("{port} can see {most} ({why}): within proof, but reads only to {top}.", **said)
        return RangeCheck(Verdict.CARE, text)
    if ROOM * most > top:
        text = tr("{port}: {top} leaves little room above {most} for spikes.", **said)
        return RangeCheck(Verdict.CARE, text)
    return RangeCheck(Verdict.GOOD, tr("may be connected"))


def known_pressure(reading_pa: float, known_pa: float, shown: Shown) -> str:
    """What a reading at a known pressure says of the scale."""
    said = {
        "reading": shown.text(reading_pa, Dimension.PRESSURE),
        "known": shown.text(known_pa, Dimension.PRESSURE),
    }
    if known_pa <= 0:
        return tr("The known pressure must be above zero: at zero, take the zero instead.")
    ratio = reading_pa / known_pa
    for factor in (0.001, 0.01, 0.1, 10.0, 100.0, 1000.0):
        if abs(ratio / factor - 1) < 0.2:
            said["factor"] = f"{factor:g}"
            return tr(
                "Reads {reading} at {known}: a factor of {factor}. Look at scale and unit.", **said
            )
    said["off"] = f"{100 * (ratio - 1):+.1f}".replace("-", "−")
    return tr("Reads {reading} at {known}: {off} %.", **said)
