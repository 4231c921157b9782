"""Draw the guide's pictures of the figures from a run of the practice machine.

    python packaging/draw_guide.py

What is drawn is what the program finds in its own record of that run: no line is made up. Run it
after a change of the analysis or the simulation and commit what it draws. Every picture with words
in it, drawn here or by hand, is then written once more with the words of each translation.
"""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from xml.sax.saxutils import escape, unescape

import numpy as np

from gaugebench.analyse.figures import analyse
from gaugebench.model.figures import Absent, Answer, Event, Figure, LoadingFigures, PumpFigures
from gaugebench.model.role import Role
from gaugebench.model.trace import Series, Trace
from gaugebench.simulate.script import run
from gaugebench.simulate.visit import demo_script

PICTURES = Path(__file__).resolve().parent.parent / "gaugebench" / "guide" / "pictures"
WORDS = Path(__file__).resolve().parent / "guide_words_{language}.toml"
LANGUAGES = {"de": ","}
"""Each with its decimal sign."""
BAR = 1e5
ORANGE, BLUE, GREEN, GREY = "#d55e00", "#0072b2", "#007a5a", "#777777"
Part = Callable[["Panel"], str]


class NotFound(Exception):
    """The run does not hold what a picture is to show."""


@dataclass
class Panel:
    """A stretch of time and pressure, and where it lies in the picture (px)."""

    start: float
    end: float
    low: float
    high: float
    top: float = 20
    height: float = 260
    left: float = 64
    width: float = 640
    parts: list[str] = field(default_factory=list)

    def x(self, time: float) -> float:
        """Px from the left of an instant."""
        return self.left + (time - self.start) / (self.end - self.start) * self.width

    def y(self, bar: float) -> float:
        """Px from the top of a pressure."""
        return self.top + (self.high - bar) / (self.high - self.low) * self.height

    def line(self, series: Series, colour: str) -> None:
        """The samples, each pixel column with its least and greatest."""
        piece = series.between(self.start, self.end)
        shown = (piece.values >= self.low * BAR) & (piece.values <= self.high * BAR)
        times, values = piece.times[shown], piece.values[shown]
        columns = np.floor((times - self.start) / (self.end - self.start) * self.width)
        points = []
        for column in np.unique(columns):
            here = values[columns == column] / BAR
            ends = (here.min(), here.max()) if len(here) > 1 else (here[0],)
            points += [f"{self.left + column:.0f},{self.y(v):.1f}" for v in ends]
        self.parts.append(
            f'<polyline points="{" ".join(points)}" fill="none" stroke="{colour}" '
            'stroke-width="2"/>'
        )

    def level(self, bar: float, words: str, start: float, end: float) -> None:
        """A dashed level over a stretch of time."""
        y = self.y(bar)
        self.parts.append(
            f'<path d="M{self.x(start):.0f} {y:.1f} H{self.x(end):.0f}" stroke="{GREY}" '
            f'stroke-dasharray="6 4" fill="none"/>'
        )
        self.words(self.x(end) + 6, y + 5, words)

    def upright(self, time: float, words: str, at: float) -> None:
        """A dotted instant, with words `at` px below the top."""
        x = self.x(time)
        self.parts.append(
            f'<path d="M{x:.1f} {self.top} V{self.top + self.height}" stroke="{GREEN}" '
            'stroke-dasharray="3 4" fill="none"/>'
        )
        self.words(x + 6, self.top + at, words)

    def dot(self, time: float, bar: float, words: str, right: float = 10, down: float = 5) -> None:
        """A point that the analysis found."""
        x, y = self.x(time), self.y(bar)
        self.parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="6" fill="{GREEN}"/>')
        self.words(x + right, y + down, words)

    def span(self, start: float, end: float, bar: float, words: str) -> None:
        """A stretch of time, drawn at a pressure."""
        x, y = self.x(start), self.y(bar)
        self.parts.append(
            f'<path d="M{x:.1f} {y - 6:.1f} v12 M{x:.1f} {y:.1f} H{self.x(end):.1f} m0 -6 v12" '
            f'stroke="{GREEN}" stroke-width="2" fill="none"/>'
        )
        self.words(self.x(end) + 8, y + 5, words)

    def words(self, x: float, y: float, words: str) -> None:
        """Text at a place in px."""
        self.parts.append(f'<text x="{x:.0f}" y="{y:.0f}">{escape(words)}</text>')

    def drawn(self) -> str:
        """Axes and parts, as SVG."""
        frame = (
            f'<rect x="{self.left}" y="{self.top}" width="{self.width}" height="{self.height}" '
            'fill="none" stroke="#1a1a1a"/>'
        )
        upward = (
            f'<text x="{self.left - 6}" y="{self.y(bar) + 5:.0f}" text-anchor="end">{bar:g}'
            f'</text><path d="M{self.left - 4} {self.y(bar):.1f} h4" stroke="#1a1a1a"/>'
            for bar in _steps(self.low, self.high)
        )
        along = (
            f'<text x="{self.x(time):.0f}" y="{self.top + self.height + 18:.0f}" '
            f'text-anchor="middle">{time:g}</text>'
            for time in _steps(self.start, self.end)
        )
        return "\n".join([frame, *upward, *along, *self.parts])


def _steps(low: float, high: float) -> list[float]:
    rough = (high - low) / 5
    scale = 10.0 ** np.floor(np.log10(rough))
    step = next(s * scale for s in (1, 2, 2.5, 5, 10) if s * scale >= rough)
    return [
        round(float(k * step), 6) for k in range(int(np.ceil(low / step)), int(high / step) + 1)
    ]


def picture(name: str, panels: list[Panel]) -> None:
    """Write the panels as one SVG."""
    height = max(p.top + p.height for p in panels) + 44
    body = "\n".join(p.drawn() for p in panels)
    (PICTURES / name).write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="820" height="{height:.0f}" '
        f'viewBox="0 0 820 {height:.0f}" font-family="sans-serif" font-size="14" fill="#1a1a1a">\n'
        f'<rect width="820" height="{height:.0f}" fill="#ffffff"/>\n{body}\n'
        f'<text x="64" y="{height - 8:.0f}">time, s; pressure, bar gauge. '
        "Practice machine, simulated.</text>\n</svg>\n",
        encoding="utf-8",
    )


def translated(svg: str, words: dict[str, str], decimal_sign: str) -> str:
    """A picture with its words in another language. Raises `NotFound` for words without one."""

    def said(found: re.Match[str]) -> str:
        text = unescape(found[2])
        if re.fullmatch(r"[\d.]*", text):
            return found[1] + text.replace(".", decimal_sign)
        if text not in words:
            raise NotFound(f"no translation of {text!r}")
        return found[1] + escape(words[text])

    return re.sub(r"(<text[^>]*>)([^<]*)", said, svg)


def translate(language: str) -> None:
    """Write every picture that has words once more, in a language. Raises `NotFound`."""
    folder = PICTURES.parent / language / PICTURES.name
    folder.mkdir(parents=True, exist_ok=True)
    source = WORDS.with_name(WORDS.name.format(language=language))
    words = tomllib.loads(source.read_text(encoding="utf-8"))["words"]
    for path in PICTURES.glob("*.svg"):
        svg = path.read_text(encoding="utf-8")
        if "<text" in svg:
            drawn = translated(svg, words, LANGUAGES[language])
            (folder / path.name).write_text(drawn, encoding="utf-8")


def value(answer: Answer) -> float:
    """The number of a figure. Raises `NotFound` with the reason where it is absent."""
    if isinstance(answer, Absent):
        raise NotFound(answer.reason)
    return answer.value


def at(event: Event | Absent) -> tuple[float, float]:
    """Time (s) and pressure (bar) of an event. Raises `NotFound`."""
    if isinstance(event, Absent):
        raise NotFound(event.reason)
    return event.time.value, value(event.pressure) / BAR


def series(trace: Trace, role: Role) -> Series:
    """The series of a role. Raises `NotFound`."""
    found = trace.find(role)
    if found is None:
        raise NotFound(f"no {role}")
    return found


def draw_loading(trace: Trace, loading: LoadingFigures, pump: int) -> None:
    """One pump from idle over relief and back, with its figures."""
    figures = loading.pumps[pump]
    main = series(trace, Role.main(pump))
    initial, settled = value(figures.initial) / BAR, value(figures.settled) / BAR
    peak, t50 = value(figures.peak) / BAR, value(figures.t50)
    panel = Panel(loading.start_s - 0.6, loading.end_s + 0.6, 0, peak * 1.15)
    panel.line(main, BLUE)
    panel.level(initial, "initial", panel.start, loading.end_s + 0.6)
    panel.level(settled, "settled", t50, loading.end_s + 0.6)
    piece = main.between(loading.start_s, loading.end_s)
    panel.dot(float(piece.times[int(np.nanargmax(piece.values))]), peak, "peak", down=-8)
    panel.dot(t50, (initial + settled) / 2, "t50: half way")
    panel.span(t50, t50 + value(figures.settle), settled * 0.82, "settle")
    picture("loading.svg", [panel])


def draw_crack(trace: Trace, loading: LoadingFigures, pump: int) -> None:
    """The knee on a slow rise."""
    figures = loading.pumps[pump]
    time, bar = at(figures.relief_crack)
    settled = value(figures.settled) / BAR
    panel = Panel(time - 0.9, time + 1.5, bar - 60, settled + 15)
    panel.line(series(trace, Role.main(pump)), BLUE)
    panel.dot(time, bar, "crack: the relief begins to pass oil", right=14, down=22)
    panel.level(settled, "settled", time, panel.end)
    panel.level(bar, "crack", time, panel.end)
    picture("crack.svg", [panel])


def draw_destroke(trace: Trace, loading: LoadingFigures, pump: int) -> None:
    """Main above, control below, and the moment between."""
    time, bar = at(loading.pumps[pump].destroke_onset)
    main, control = series(trace, Role.main(pump)), series(trace, Role.control(pump))
    start, end = time - 0.8, time + 1.0
    levels = control.between(start, end).values / BAR
    highest = float(np.nanmax(main.between(start, end).values)) / BAR
    upper = Panel(start, end, 0, highest * 1.15, height=200)
    lower = Panel(start, end, 0, float(np.nanmax(levels)) * 1.15, top=262, height=140)
    upper.line(main, BLUE)
    lower.line(control, ORANGE)
    upper.upright(time, "", 20)
    upper.dot(time, bar, "main pressure at the onset", right=12, down=24)
    upper.words(upper.left + 8, upper.top + 18, f"pump {pump} main")
    lower.upright(time, "de-stroke onset", 20)
    lower.words(lower.left + 8, lower.top + 18, f"pump {pump} control")
    picture("destroke.svg", [upper, lower])


def draw_pair(trace: Trace, loading: LoadingFigures) -> None:
    """Both mains in one loading."""
    one, two = (loading.pumps[p] for p in (1, 2))
    top = max(value(p.peak) for p in (one, two)) / BAR
    first = min(value(one.t50), value(two.t50))
    panel = Panel(first - 0.5, first + 1.2, 0, top * 1.15)
    panel.line(series(trace, Role.main(1)), BLUE)
    panel.line(series(trace, Role.main(2)), ORANGE)
    for number, figures, right, down in ((1, one, -62, -4), (2, two, 12, 10)):
        half = (value(figures.initial) + value(figures.settled)) / 2 / BAR
        panel.dot(value(figures.t50), half, f"t50 of {number}", right=right, down=down)
    if isinstance(loading.in_sync, Figure):
        panel.upright(loading.in_sync.value, "in sync from here", panel.height - 20)
    panel.words(panel.left + 8, panel.top + 18, "pump 1 blue, pump 2 orange")
    picture("pair.svg", [panel])


def _first(
    trace: Trace, loadings: tuple[LoadingFigures, ...], wanted: Callable[[PumpFigures], object]
) -> tuple[Trace, LoadingFigures, int]:
    reasons = []
    for loading in loadings:
        for pump, figures in loading.pumps.items():
            try:
                wanted(figures)
            except NotFound as fault:
                reasons.append(f"{loading.start_s:.1f} s, pump {pump}: {fault}")
            else:
                return trace, loading, pump
    raise NotFound("; ".join(reasons))


def _shows_all(figures: PumpFigures) -> None:
    value(figures.settle)
    if value(figures.overshoot) < 1.0:
        raise NotFound("the peak hardly shows")


def main() -> int:
    """Run the practice visit, take its figures, draw four pictures, translate all."""
    trace, _truth = run(demo_script())
    loadings = analyse(trace).loadings
    try:
        draw_loading(*_first(trace, loadings, _shows_all))
        draw_crack(*_first(trace, loadings, lambda p: at(p.relief_crack)))
        draw_destroke(*_first(trace, loadings, lambda p: at(p.destroke_onset)))
        pairs = [x for x in loadings if {1, 2} <= x.pumps.keys()]
        if not pairs:
            raise NotFound("no loading of both pumps")
        draw_pair(trace, pairs[0])
        for language in LANGUAGES:
            translate(language)
    except NotFound as fault:
        print(f"The practice run lacks what is to be drawn: {fault}.", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
