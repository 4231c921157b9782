"""What each step says: of every port, in one line, and on its button. No Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from gaugebench.desk.hookup.portcheck import Standing, usual
from gaugebench.desk.hookup.ranges import Verdict
from gaugebench.desk.hookup.release import PortState
from gaugebench.desk.hookup.stages import Stage
from gaugebench.desk.words import tr
from gaugebench.quantity import Dimension

if TYPE_CHECKING:
    from gaugebench.desk.hookup.workbench import Workbench
    from gaugebench.desk.shown import Shown

DONE, STOP = "✓", "STOP"
_BAD = {Standing.OUTSIDE, Standing.NOT_READ}
_ALARMING = {PortState.HOLDS, PortState.BELOW, PortState.SILENT, PortState.FAULT, PortState.FROZEN}
"""States that something speaks against; of the others it is only not known."""


@dataclass(frozen=True, slots=True)
class Said:
    """What a step says of one port. is_stop: in the colour of an alarm."""

    words: str = ""
    is_stop: bool = False


class Ticks(Protocol):
    """Which lists of steps are done."""

    @property
    def is_fitted(self) -> bool:
        """Whether every step of fitting is."""

    @property
    def is_let_go(self) -> bool:
        """Whether every step of the release is."""


def said_of(stage: Stage, bench: Workbench, shown: Shown) -> tuple[str, list[Said]]:
    """The head of the table's last column in a step, and what it says of each port."""
    match stage:
        case Stage.FIT:
            return tr("Fitting"), _fittings(bench)
        case Stage.ZEROS:
            return tr("Zero"), _zeros(bench)
        case Stage.PORTS:
            return tr("At low idle in neutral"), _ports(bench, shown)
        case Stage.RELEASE:
            found = bench.found.ports if bench.found is not None else ()
            said = [Said(p.words, p.state in _ALARMING) if p is not None else Said() for p in found]
            return tr("Released?"), said
        case _:
            return tr("Before connecting"), _before(bench)


def _before(bench: Workbench) -> list[Said]:
    said = []
    for row, check in enumerate(bench.checks):
        date = bench.dates[row] if row < len(bench.dates) else ""
        words = "\n".join(filter(None, (check.words, date)))
        said.append(Said(words, check.verdict is Verdict.STOP))
    return said


def _fittings(bench: Workbench) -> list[Said]:
    said = []
    for (place, channel), check in zip(bench.placed, bench.checks, strict=False):
        text = str(bench.draft.channel(place).get("fitting", ""))
        if not check.may_be_fitted:
            said.append(Said(check.words, check.verdict is Verdict.STOP))
        elif channel.dimension is not Dimension.PRESSURE:
            said.append(Said(text))
        else:
            said.append(Said(text or tr("write down adapter, hose bore and length")))
    return said


def _zeros(bench: Workbench) -> list[Said]:
    said = []
    for row, (place, channel) in enumerate(bench.placed):
        if channel.dimension is not Dimension.PRESSURE:
            said.append(Said())
            continue
        data = bench.draft.channel(place)
        taken = str(data.get("zeroed", ""))
        before = tr("{zero} is taken off ({when})", zero=data.get("zero", ""), when=taken)
        words = bench.zero_words.get(row) or (before if taken else tr("no zero taken yet"))
        said.append(Said(words))
    return said


def _ports(bench: Workbench, shown: Shown) -> list[Said]:
    if bench.ports is not None:
        return [Said(p.words, p.standing in _BAD) for p in bench.ports.ports]
    said = []
    for _, channel in bench.placed:
        band = usual(channel)
        words = ""
        if band is not None:
            low = shown.number(band[0], Dimension.PRESSURE)
            high = shown.text(band[1], Dimension.PRESSURE)
            words = tr("usual are {low} to {high}", low=low, high=high)
        said.append(Said(words))
    return said


def advice(stage: Stage, bench: Workbench) -> str:
    """What to do in a step, in one line."""
    if not bench.draft.data["source"] and stage is not Stage.RELEASE:
        return tr("Open a kit, add a source on the left, or practise on a simulated machine.")
    if bench.draft.fault and stage is not Stage.RELEASE:
        return tr("Not a kit yet. {fault}", fault=bench.draft.fault)
    if stage not in {Stage.KIT, Stage.RANGES, Stage.FIT} and bench.is_changed:
        return tr("The kit was changed since it was opened: connect it again.")
    return _ADVICE[stage](bench)


def _of_kit(_bench: Workbench) -> str:
    return tr("Fill in what is on each port, on the right. Then step 2: what the ports can see.")


def _of_ranges(bench: Workbench) -> str:
    if any(c.verdict is Verdict.STOP for c in bench.checks):
        return tr("Do not screw on what is marked STOP.")
    return tr("Nothing is screwed on before every port has been judged here.")


def _of_fit(_bench: Workbench) -> str:
    return tr("Engine off and pressure released before any port is opened.")


def _of_zeros(bench: Workbench) -> str:
    if bench.feed is None:
        return tr("Connect the kit; then values stand in the table.")
    return tr("Every line released and at rest: take the zeros.")


def _of_ports(bench: Workbench) -> str:
    if bench.feed is None:
        return tr("Connect the kit first, in step 4.")
    return tr("Engine at low idle, levers in neutral, everyone clear: the wrong-port check.")


def _of_release(bench: Workbench) -> str:
    if bench.feed is None:
        return tr("No kit is open: nothing shows whether pressure is released.")
    return tr("Release step by step, and read every port, before a fitting is touched.")


_ADVICE = {
    Stage.KIT: _of_kit,
    Stage.RANGES: _of_ranges,
    Stage.FIT: _of_fit,
    Stage.ZEROS: _of_zeros,
    Stage.PORTS: _of_ports,
    Stage.RELEASE: _of_release,
}


def marks(bench: Workbench, ticks: Ticks) -> dict[Stage, str]:
    """How each step stands, for its button."""
    checks, ports = bench.checks, bench.ports
    is_judged = bool(checks) and all(c.may_be_fitted for c in checks)
    is_stopped = any(c.verdict is Verdict.STOP for c in checks)
    zeros = any(moment == "before" for _, moment in bench.visit.zeros)
    return {
        Stage.KIT: DONE if bench.draft.kit is not None else "",
        Stage.RANGES: STOP if is_stopped else DONE if is_judged else "",
        Stage.FIT: DONE if ticks.is_fitted else "",
        Stage.ZEROS: DONE if zeros else "",
        Stage.PORTS: "" if ports is None else DONE if ports.passed else STOP,
        Stage.RELEASE: DONE if ticks.is_let_go else "",
    }
