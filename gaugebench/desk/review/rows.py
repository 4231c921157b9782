"""The analysis pane as rows of text: figures by loading and pump, or why not. No Qt."""

from __future__ import annotations

from dataclasses import dataclass

from gaugebench.desk.shown import ABSENT, Shown
from gaugebench.desk.words import said, tr
from gaugebench.model.figures import Absent, Answer, Event, LoadingFigures, PumpFigures, Window
from gaugebench.quantity import Dimension


@dataclass(frozen=True, slots=True)
class Cell:
    """One figure as shown. why: the reason where it is absent, or what speaks against it."""

    text: str
    why: str = ""
    window: Window | None = None
    is_absent: bool = False
    parts: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A figure's name and one cell for each pump, or one for the whole loading."""

    name: str
    cells: tuple[Cell, ...]
    whole: bool = False


PUMP_ROWS: tuple[tuple[str, str], ...] = (
    ("settled", "Settled"),
    ("peak", "Peak"),
    ("overshoot", "Overshoot"),
    ("settle", "Settles within"),
    ("relief_crack", "Relief cracks"),
    ("destroke_onset", "De-stroke onset"),
    ("control_settled", "Control settled"),
    ("override", "Override"),
    ("ripple_pp", "Ripple, peak to peak"),
    ("ripple_rms", "Ripple, rms"),
    ("initial", "Initial"),
    ("raw_peak", "Largest sample"),
    ("t50", "Half way at"),
)
"""The figures of one pump, by the name of their field, and what they are called."""
_PAIR_ROWS: tuple[tuple[str, str], ...] = (
    ("imbalance", "Imbalance"),
    ("running_imbalance", "Running imbalance, rms"),
    ("sync_lag", "Pump 2 behind pump 1 by"),
    ("in_sync", "Pumps in sync from"),
    ("cycle_time", "Cycle time"),
)


def loading_rows(loading: LoadingFigures, shown: Shown) -> list[Row]:
    """All rows of one loading; pumps in order of their numbers."""
    pumps = [loading.pumps[number] for number in sorted(loading.pumps)]
    pump_rows = [
        Row(tr(title), tuple(cell(_answer(pump, key), shown) for pump in pumps))
        for key, title in PUMP_ROWS
    ]
    limited = Row(tr("Held by"), tuple(_limited(pump) for pump in pumps))
    pair_rows = [
        Row(tr(title), (cell(_answer(loading, key), shown),), whole=True)
        for key, title in _PAIR_ROWS
    ]
    # What a technician looks for first stands first.
    return [*pump_rows[:2], limited, pair_rows[0], pair_rows[2], *pump_rows[2:], *pair_rows[3:],
            pair_rows[1]]  # fmt: skip


def cell(answer: Answer | Event, shown: Shown) -> Cell:
    """One figure as a cell."""
    match answer:
        case Absent(reason):
            return Cell(ABSENT, said(reason), is_absent=True)
        case Event(time, pressure):
            at = tr("at {time}", time=shown.figure(time))
            if isinstance(pressure, Absent):
                return Cell(at, said(pressure.reason), time.window)
            why = " ".join(map(said, (*pressure.cautions, *time.cautions)))
            text = f"{shown.figure(pressure)}\n{at}"
            return Cell(text, why, pressure.window or time.window, parts=_parts(pressure, shown))
        case _:
            why = " ".join(map(said, answer.cautions))
            return Cell(shown.figure(answer), why, answer.window, parts=_parts(answer, shown))


def _parts(answer: Answer, shown: Shown) -> str:
    """What a figure's ± is made of, for whoever asks."""
    if isinstance(answer, Absent) or answer.expanded is None:
        return ""
    from dataclasses import replace

    each = [
        f"{said(name)}: {shown.figure(replace(answer, value=size), with_spread=False)}"
        for name, size in answer.parts.items()
    ]
    return "\n".join([tr("± is the expanded uncertainty (k = 2), made of (k = 1):"), *each])


def _answer(source: PumpFigures | LoadingFigures, key: str) -> Answer | Event:
    found: Answer | Event = getattr(source, key)
    return found


def _limited(pump: PumpFigures) -> Cell:
    return Cell(tr(pump.limited_by.limiter.value), said(pump.limited_by.reason))


def loading_title(number: int, loading: LoadingFigures, shown: Shown) -> str:
    """A loading in a line: its number, its pumps, what they settled at, what held them."""
    pumps = sorted(loading.pumps)
    who = tr("pump {numbers}", numbers=" + ".join(str(p) for p in pumps))
    settled = [loading.pumps[p].settled for p in pumps]
    numbers = [
        shown.number(s.value, Dimension.PRESSURE) if not isinstance(s, Absent) else ABSENT
        for s in settled
    ]
    unit = shown.symbol(Dimension.PRESSURE)
    held = dict.fromkeys(tr(loading.pumps[p].limited_by.limiter.value) for p in pumps)
    return f"{number}  {who}  {' / '.join(numbers)} {unit}  {', '.join(held)}"


def as_text(rows: list[Row], heads: list[str]) -> str:
    """Rows as tab-separated text, for the clipboard."""
    lines = ["\t".join([tr("Figure"), *heads])]
    for row in rows:
        cells = [" ".join(filter(None, (c.text.replace("\n", " "), c.why))) for c in row.cells]
        lines.append("\t".join([row.name, *cells]))
    return "\n".join(lines)
