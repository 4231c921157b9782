"""What people call the channels, and the marks. No Qt."""

from __future__ import annotations

from gaugebench.desk.words import said, tr
from gaugebench.model.channel import Channel
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.role import Port, Role

_ROLES = {
    "pilot": "Pilot",
    "engine.speed": "Engine",
    "oil.temperature": "Oil",
    "load_sense": "Load sense",
    "case_drain.flow": "Case drain",
    "case.pressure": "Case",
    "return.pressure": "Return",
    "travel_pilot.left": "Travel pilot left",
    "travel_pilot.right": "Travel pilot right",
    "psv.current": "Valve current",
    "psv.pressure": "Valve pressure",
}
_KINDS = {
    MarkKind.LOADING_START: "loading starts",
    MarkKind.LOADING_END: "loading ends",
    MarkKind.RELIEF_CRACK: "relief cracks",
    MarkKind.DESTROKE_ONSET: "de-stroke onset",
    MarkKind.SETTLED: "settled",
    MarkKind.IN_SYNC: "pumps in sync",
    MarkKind.PEAK: "peak",
    MarkKind.NOTE: "note",
    MarkKind.ALARM: "alarm",
    MarkKind.GAP: "gap",
}


def role_title(role: Role) -> str:
    """A role in the trade's words, for example “Pump 1 control”."""
    if role.port is Port.MAIN:
        return tr("Pump {number}", number=role.pump)
    if role.port is Port.CONTROL:
        return tr("Pump {number} control", number=role.pump)
    return tr(_ROLES[role.name])


def channel_title(channel: Channel) -> str:
    """A channel by its role, or by its own name where it plays none."""
    return role_title(channel.role) if channel.role else channel.name


def kind_title(kind: MarkKind) -> str:
    """What happened, in words."""
    return tr(_KINDS[kind])


def mark_title(mark: Mark) -> str:
    """A mark in a few words: what, which pump, and whether it may still move."""
    says_more = mark.kind in (MarkKind.NOTE, MarkKind.ALARM) and mark.note
    words = said(mark.note) if says_more else kind_title(mark.kind)
    if mark.pump is not None:
        words = tr("{what}, pump {number}", what=words, number=mark.pump)
    if mark.standing is Standing.PROVISIONAL:
        words = tr("{what} (provisional)", what=words)
    return words
