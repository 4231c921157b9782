"""The wrong-port check, port by port: low idle, neutral, before the first load. No Qt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from gaugebench.desk.hookup.rest import Rest
from gaugebench.desk.names import channel_title
from gaugebench.desk.shown import Shown
from gaugebench.desk.words import tr
from gaugebench.model.channel import Channel
from gaugebench.quantity import Dimension

STANDING_RPM = 300.0
"""Below this the engine is not running (common practice, no source)."""
NOTHING_PA = 1e5
"""Where every port reads less, the engine is off or nothing is connected."""


class Standing(StrEnum):
    """How a port does in the check."""

    USUAL = "as usual"
    OUTSIDE = "STOP"
    NOT_READ = "no reading"
    PASSED_OVER = "passed over"


@dataclass(frozen=True, slots=True)
class PortStanding:
    """One port."""

    standing: Standing
    words: str


@dataclass(frozen=True, slots=True)
class PortCheck:
    """All ports, in the order of the table."""

    ports: tuple[PortStanding, ...]
    words: str
    passed: bool


def check_ports(channels: Sequence[Channel], rests: Sequence[Rest], shown: Shown) -> PortCheck:
    """Whether every port reads what such a port reads at low idle in neutral."""
    ports = tuple(_port(c, r, shown) for c, r in zip(channels, rests, strict=True))
    speeds = [r.mean for c, r in zip(channels, rests, strict=True) if _is_speed(c)]
    judged = [p for p in ports if p.standing is not Standing.PASSED_OVER]
    bad = [p for p in judged if p.standing is not Standing.USUAL]
    pressures = [r.mean for c, r in zip(channels, rests, strict=True) if usual(c) is not None]
    if speeds and speeds[0] < STANDING_RPM:
        words = tr("The engine stands still. Start it, low idle, levers in neutral.")
        return PortCheck(ports, words, passed=False)
    if not judged:
        words = tr("No port has a role that can be checked; say what each channel measures.")
        return PortCheck(ports, words, passed=False)
    if pressures and all(abs(p) < NOTHING_PA for p in pressures):
        words = tr(
            "Every port reads about nothing: does the engine run, and is the kit screwed on?"
        )
        return PortCheck(ports, words, passed=False)
    if bad:
        words = tr("No stall yet: stop the engine, release, and look where these lines sit.")
        return PortCheck(ports, words, passed=False)
    words = tr("Every port reads as such a port does at low idle in neutral.")
    return PortCheck(ports, words, passed=True)


def usual(channel: Channel) -> tuple[float, float] | None:
    """What such a channel's port reads at low idle in neutral, Pa; None where nothing is known."""
    if channel.role is None or channel.dimension is not Dimension.PRESSURE:
        return None
    from gaugebench.procedure.ports import usual_band  # brings the judging of checks

    band = usual_band(channel.role)
    if band is None or band.low is None or band.high is None:
        return None
    return band.low, band.high


def _port(channel: Channel, rest: Rest, shown: Shown) -> PortStanding:
    band = usual(channel)
    if channel.dimension is not Dimension.PRESSURE:
        return PortStanding(Standing.PASSED_OVER, "")
    if band is None:
        return PortStanding(Standing.PASSED_OVER, tr("not checked: nothing usual is known of it"))
    said = {
        "reading": shown.text(rest.mean, Dimension.PRESSURE),
        "port": channel_title(channel),
        "low": shown.number(band[0], Dimension.PRESSURE),
        "high": shown.text(band[1], Dimension.PRESSURE),
    }
    if math.isnan(rest.mean):
        return PortStanding(Standing.NOT_READ, tr("{port}: no reading. Look at its wire.", **said))
    if band[0] <= rest.mean <= band[1]:
        return PortStanding(Standing.USUAL, tr("{reading}: usual are {low} to {high}", **said))
    return PortStanding(
        Standing.OUTSIDE,
        tr("STOP: {port} reads {reading}; usual are {low} to {high}.", **said),
    )


def _is_speed(channel: Channel) -> bool:
    return channel.role is not None and channel.role.name == "engine.speed"
