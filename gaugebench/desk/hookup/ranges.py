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
class Stated:
    """What a person states beyond the kit. Pressures in Pa, None where not stated.

    highest_pa: the machine's highest relief. port_pa: the most that this port can see by the
    machine's sheet. hose_pa: what its hose is rated for.
    """

    highest_pa: float | None = None
    port_pa: float | None = None
    hose_pa: float | None = None


@dataclass(frozen=True, slots=True)
class RangeCheck:
    """One port's verdict, in words. most_pa: the most it can see, None where that is not known."""

    verdict: Verdict
    words: str
    most_pa: float | None = None

    @property
    def may_be_fitted(self) -> bool:
        """Whether the transducer may be screwed on."""
        return self.verdict in {Verdict.GOOD, Verdict.CARE}


def most_at(channel: Channel, highest_pa: float) -> tuple[float, str]:
    """The most that a port can see, Pa, and why; highest_pa: the machine's highest relief."""
    role = channel.role
    if role is None:
        return highest_pa, tr("its port is not named, so it may be any")
    if role.port is Port.MAIN or role.name in _FULL:
        return highest_pa, tr("it sees pump pressure")
    if role.port is Port.CONTROL:
        return _most_at_control(channel.control_port, highest_pa)
    if role.name in _RETURN:
        return RETURN_MOST_PA, tr("a return line can surge")
    return PILOT_MOST_PA, tr("it sees pilot pressure")


def _most_at_control(port: ControlPort, highest_pa: float) -> tuple[float, str]:
    match port:
        case ControlPort.SIGNAL:
            return PILOT_MOST_PA, tr("a signal port sees pilot pressure")
        case ControlPort.REGULATED:
            return highest_pa, tr("on some machines a regulated port sees pump pressure")
        case ControlPort.SERVO:
            return highest_pa, tr("a servo port can see full pump pressure")
        case _:
            return highest_pa, tr(
                "which control port it is was not said; a servo port can see full pump pressure"
            )


def check(channel: Channel, stated: Stated, shown: Shown) -> RangeCheck:
    """Whether this transducer may be connected to its port."""
    if channel.dimension is not Dimension.PRESSURE:
        return RangeCheck(Verdict.GOOD, tr("no pressure"))
    top = channel.chain.range_high
    if top is None:
        return RangeCheck(Verdict.UNKNOWN, tr("State the transducer's range first."))
    if stated.port_pa is not None:
        most, why = stated.port_pa, tr("by the machine's sheet")
    elif stated.highest_pa is not None:
        most, why = most_at(channel, stated.highest_pa)
    else:
        return RangeCheck(Verdict.UNKNOWN, tr("State the machine's highest relief first."))
    found = _Judge(channel, stated, most, why, shown).verdict(top)
    slip = _slip(channel)
    is_stop = found.verdict is Verdict.STOP
    return RangeCheck(Verdict.UNKNOWN, slip, most) if slip and not is_stop else found


def _slip(channel: Channel) -> str:
    """What of a transducer's limits cannot be true together."""
    top, proof = channel.chain.range_high, channel.transducer.proof_pa
    burst = channel.transducer.burst_pa
    if top is not None and proof is not None and proof < top:
        return tr("Its proof pressure lies below its range; look at its data sheet.")
    least = proof if proof is not None else top
    if burst is not None and least is not None and burst < least:
        return tr("Its burst pressure lies below its range or proof; look at its data sheet.")
    return ""


@dataclass(frozen=True, slots=True)
class _Judge:
    """The most that one port can see, against all that sits on it."""

    channel: Channel
    stated: Stated
    most: float
    why: str
    shown: Shown

    def verdict(self, top: float) -> RangeCheck:
        """The first thing that speaks against it; top: the end of its range, Pa."""
        proof, burst = self.channel.transducer.proof_pa, self.channel.transducer.burst_pa
        hose, most = self.stated.hose_pa, self.most
        is_guess = (
            self.stated.port_pa is None and self.channel.control_port is ControlPort.REGULATED
        )
        if burst is not None and most >= burst and not is_guess:
            text = tr(
                "STOP: {port} can see {most} ({why}) and its transducer bursts at {limit}.",
                **self._said(burst),
            )
            return self._is(Verdict.STOP, text)
        if is_guess and most > (proof if proof is not None else top):
            text = tr(
                "{port}: {why}, {most}; this transducer takes {limit}. Look in the machine's sheet"
                " and state the most at this port.",
                **self._said(proof if proof is not None else top),
            )
            return self._is(Verdict.UNKNOWN, text)
        if most > top and (proof is None or most > proof):
            text = tr(
                "STOP: {port} can see {most} ({why}); its transducer ends at {limit}. Fit one with"
                " a larger range.",
                **self._said(top),
            )
            return self._is(Verdict.STOP, text)
        if hose is not None and most > hose:
            text = tr(
                "STOP: {port} can see {most} ({why}) and its hose is rated for {limit}. Take"
                " another hose.",
                **self._said(hose),
            )
            return self._is(Verdict.STOP, text)
        if most > top:
            text = tr(
                "{port} can see {most} ({why}): within proof, but reads only to {limit}.",
                **self._said(top),
            )
            return self._is(Verdict.CARE, text)
        if ROOM * most > top:
            text = tr(
                "{port}: {limit} leaves little room above {most} for spikes.", **self._said(top)
            )
            return self._is(Verdict.CARE, text)
        text = tr("may be connected: {most} at most, made for {limit}", **self._said(top))
        return self._is(Verdict.GOOD, text)

    def _is(self, verdict: Verdict, words: str) -> RangeCheck:
        return RangeCheck(verdict, words, self.most)

    def _said(self, limit: float) -> dict[str, str]:
        return {
            "port": channel_title(self.channel),
            "most": self.shown.text(self.most, Dimension.PRESSURE),
            "why": self.why,
            "limit": self.shown.text(limit, Dimension.PRESSURE),
        }


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
