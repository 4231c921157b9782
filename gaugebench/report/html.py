"""The report as one HTML file: no script, nothing fetched, charts as SVG."""

from __future__ import annotations

from html import escape

from gaugebench.report.blocks import (
    Chart,
    Data,
    Heading,
    Pairs,
    Report,
    Signatures,
    Table,
    Text,
    Tone,
)
from gaugebench.report.frame import Frame
from gaugebench.report.looks import GRID, HEAD, INK, MARK, RULE, TONES, line_look
from gaugebench.report.speech import Speech
from gaugebench.report.writer import Writer

_PLAIN_CSS = f"""
body{{font:15px/1.45 system-ui,"DejaVu Sans",sans-serif;color:{INK};background:#fff;
max-width:60rem;margin:1.5rem auto;padding:0 1rem}}
table{{border-collapse:collapse;width:100%;margin:.4rem 0 1rem;font-size:.85rem}}
th,td{{text-align:left;vertical-align:top;padding:.2rem .45rem;border-bottom:1px solid {RULE}}}
th{{background:{HEAD}}}
.small{{font-size:.8rem}}
.banner{{border:2px solid;padding:.4rem;text-align:center}}
svg{{width:100%;height:auto}}h2{{margin-top:1.6rem}}
@media print{{.page{{break-before:page}}}}
"""
_CSS = _PLAIN_CSS + "".join(f".{t}{{color:{c};font-weight:600}}\n" for t, c in TONES.items())
_WIDE, _HIGH = 900.0, 332.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 60.0, 15.0, 56.0, 40.0
_ENTRY, _LETTER = 52.0, 6.6
"""Room of a line's sample in the legend, and of a letter."""


def html(report: Report) -> str:
    """The whole page as text."""
    banner = f'<p class="banner {Tone.BAD}">{escape(report.banner)}</p>' if report.banner else ""
    body = "\n".join(_Page(report.speech).write(report.blocks))
    return (
        f'<!doctype html>\n<html lang="{escape(report.speech.language)}"><head>'
        f'<meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"<title>{escape(report.title)}</title><style>{_CSS}</style></head><body>\n{banner}"
        f'{body}\n<p class="small">{escape(report.footer)}</p></body></html>\n'
    )


class _Page(Writer[str]):
    def __init__(self, speech: Speech) -> None:
        self.speech = speech

    def heading(self, block: Heading) -> str:
        tag = f"h{max(1, block.level)}" if block.level != 1 else "h2"
        return f"<{tag}>{escape(block.text)}</{tag}>"

    def pairs(self, block: Pairs) -> str:
        rows = "".join(
            f"<tr><th>{escape(name)}</th><td>{escape(value)}</td></tr>"
            for name, value in block.rows
        )
        return f"<table>{rows}</table>"

    def text(self, block: Text) -> str:
        return f"<p{_class(block.tone)}>{escape(block.text)}</p>"

    def table(self, block: Table) -> str:
        head = "".join(f"<th>{escape(t)}</th>" for t in block.head)
        rows = "".join(
            "<tr>" + "".join(f"<td{_class(c.tone)}>{escape(c.text)}</td>" for c in r) + "</tr>"
            for r in block.rows
        )
        return f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"

    def chart(self, block: Chart) -> str:
        return svg(block, self.speech)

    def signatures(self, block: Signatures) -> str:
        rows = "".join(
            f"<tr><td>{escape(c)}</td><td>{escape(n)}</td><td>{escape(w)}</td></tr>"
            for c, n, w in block.lines
        )
        return f"<table>{rows}</table>"

    def page_end(self) -> str:
        return '<div class="page"></div>'

    def data(self, block: Data) -> str:
        del block  # for a workbook; a page has the same in its tables
        return ""


def _class(tone: Tone) -> str:
    return "" if tone is Tone.PLAIN else f' class="{tone}"'


def svg(chart: Chart, speech: Speech) -> str:
    """A chart as SVG, its text selectable."""
    frame = Frame(chart, speech, _LEFT, _WIDE - _RIGHT, _HIGH - _BOTTOM, _TOP)
    parts = [
        (
            f'<svg viewBox="0 0 {_WIDE:.0f} {_HIGH:.0f}" role="img" font-size="11" '
            f'font-family="sans-serif" fill="{INK}"><title>{escape(chart.title)}</title>'
        ),
        _words(_LEFT, 14, chart.title, "start"),
        _words((_LEFT + _WIDE) / 2, _HIGH - 6, chart.x_label),
        (
            f'<text transform="translate(14,{_HIGH / 2:.0f}) rotate(-90)" text-anchor="middle">'
            f"{escape(chart.y_label)}</text>"
        ),
    ]
    for y, words in frame.up():
        parts.append(_rule(_LEFT, y, _WIDE - _RIGHT, y))
        parts.append(_words(_LEFT - 5, y + 4, words, "end"))
    for x, words in frame.across():
        parts.append(_rule(x, _TOP, x, _HIGH - _BOTTOM))
        parts.append(_words(x, _HIGH - _BOTTOM + 14, words))
    parts += [_rule(frame.x(f.x), _TOP, frame.x(f.x), _HIGH - _BOTTOM, MARK) for f in chart.flags]
    parts += [_words(x, _TOP - 3, words) for x, words in frame.flags(40)]
    for limit in chart.limits:
        y = frame.y(limit)
        parts.append(_rule(_LEFT, y, _WIDE - _RIGHT, y, INK, 0.8, "2 3"))
    for start, end, letter in frame.spans():
        parts.append(_rule(start, _TOP - 15, end, _TOP - 15, INK, 1.5))
        parts.append(_words((start + end) / 2, _TOP - 18, letter))
    entries = [_ENTRY + _LETTER * len(line.label) for line in chart.lines]
    at = _WIDE - _RIGHT - sum(entries)
    # Beside the title where there is room, else in a row below it.
    base = 14 if at > _LEFT + _LETTER * len(chart.title) else 27
    for line, entry in zip(chart.lines, entries, strict=True):
        colour, dashes = line_look(line.style)
        pen = f'fill="none" stroke="{colour}" stroke-dasharray="{_dashes(dashes)}"'
        for xs, ys in line.pieces:
            points = " ".join(
                f"{frame.x(float(x)):.1f},{frame.y(float(y)):.1f}"
                for x, y in zip(xs, ys, strict=True)
            )
            parts.append(f'<polyline {pen} points="{points}"/>')
        parts.append(f'<path {pen} stroke-width="2" d="M{at:.0f} {base - 4}h28"/>')
        parts.append(_words(at + 34, base, line.label, "start"))
        at += entry
    return "".join(parts) + "</svg>"


def _words(x: float, y: float, words: str, anchor: str = "middle") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def _dashes(dashes: tuple[float, ...]) -> str:
    return " ".join(f"{d:g}" for d in dashes)


def _rule(
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    colour: str = GRID,
    width: float = 0.6,
    dashes: str = "",
) -> str:
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" '
        f'stroke-width="{width:g}" stroke-dasharray="{dashes}"/>'
    )
