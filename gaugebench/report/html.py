"""The report as one HTML file: no script, nothing fetched, charts as SVG."""

from __future__ import annotations

from html import escape

from gaugebench.report.blocks import (
    Block,
    Chart,
    Data,
    Heading,
    PageEnd,
    Report,
    Signatures,
    Table,
    Text,
    Tone,
    clusters,
)
from gaugebench.report.scale import label, ticks

_CSS = """
body{font:15px/1.45 system-ui,"DejaVu Sans",sans-serif;color:#1a1a1a;background:#fff;
max-width:60rem;margin:1.5rem auto;padding:0 1rem}
table{border-collapse:collapse;width:100%;margin:.4rem 0 1rem;font-size:.85rem}
th,td{text-align:left;vertical-align:top;padding:.2rem .45rem;border-bottom:1px solid #9aa4ad}
th{background:#e8ebee}
.good{color:#0b5d3b;font-weight:600}.bad,.warning{color:#9c1c1c;font-weight:600}
.open{color:#7a4a00;font-weight:600}.small{font-size:.8rem}
.banner{border:2px solid #9c1c1c;color:#9c1c1c;font-weight:700;padding:.4rem;text-align:center}
svg{width:100%;height:auto}h2{margin-top:1.6rem}
@media print{.page{break-before:page}}
"""
_COLOURS = (
    ("#0072b2", ""),
    ("#d55e00", "6 3"),
    ("#333333", "2 3"),
    ("#009e73", "8 3 2 3"),
    ("#cc79a7", "3 3"),
)
_WIDE, _HIGH = 900.0, 320.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 60.0, 15.0, 44.0, 40.0


def html(report: Report) -> str:
    """The whole page as text."""
    banner = f'<p class="banner">{escape(report.banner)}</p>' if report.banner else ""
    pairs = "".join(
        f"<tr><th>{escape(name)}</th><td>{escape(value)}</td></tr>"
        for name, value in report.particulars
    )
    body = "\n".join(_block(b) for b in report.blocks)
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width">'
        f"<title>{escape(report.title)}</title><style>{_CSS}</style></head><body>\n{banner}"
        f"<h1>{escape(report.title)}</h1><table>{pairs}</table>\n{body}\n"
        f'<p class="small">{escape(report.footer)}</p></body></html>\n'
    )


def _block(block: Block) -> str:
    match block:
        case Heading():
            tag = "h2" if block.level <= 2 else "h3"
            return f"<{tag}>{escape(block.text)}</{tag}>"
        case Text():
            return f"<p{_class(block.tone)}>{escape(block.text)}</p>"
        case Table():
            return _table(block)
        case Chart():
            return svg(block)
        case Signatures():
            rows = "".join(
                f"<tr><td>{escape(c)}</td><td>{escape(n)}</td><td>{escape(w)}</td></tr>"
                for c, n, w in block.lines
            )
            return f"<table>{rows}</table>"
        case PageEnd():
            return '<div class="page"></div>'
        case Data():
            return ""


def _class(tone: Tone) -> str:
    return "" if tone is Tone.PLAIN else f' class="{tone}"'


def _table(table: Table) -> str:
    head = "".join(f"<th>{escape(t)}</th>" for t in table.head)
    rows = "".join(
        "<tr>" + "".join(f"<td{_class(c.tone)}>{escape(c.text)}</td>" for c in r) + "</tr>"
        for r in table.rows
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"


def svg(chart: Chart) -> str:
    """A chart as SVG, its text selectable."""
    (x0, x1), (y0, y1) = chart.x, chart.y

    def px(x: float) -> float:
        return _LEFT + (_WIDE - _LEFT - _RIGHT) * (x - x0) / ((x1 - x0) or 1.0)

    def py(y: float) -> float:
        return _HIGH - _BOTTOM - (_HIGH - _TOP - _BOTTOM) * (y - y0) / ((y1 - y0) or 1.0)

    def text(x: float, y: float, words: str, anchor: str = "middle") -> str:
        return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'

    opening = (
        f'<svg viewBox="0 0 {_WIDE:.0f} {_HIGH:.0f}" role="img" font-size="11" '
        f'font-family="sans-serif" fill="#1a1a1a"><title>{escape(chart.title)}</title>'
    )
    upright = (
        f'<text transform="translate(14,{_HIGH / 2:.0f}) rotate(-90)" text-anchor="middle">'
        f"{escape(chart.y_label)}</text>"
    )
    parts = [
        opening,
        text(_LEFT, 14, chart.title, "start"),
        text((_LEFT + _WIDE) / 2, _HIGH - 6, chart.x_label),
        upright,
    ]
    for value in ticks(y0, y1, 5):
        parts.append(_rule(_LEFT, py(value), _WIDE - _RIGHT, py(value)))
        parts.append(text(_LEFT - 5, py(value) + 4, label(value), "end"))
    for value in ticks(x0, x1, 10):
        parts.append(_rule(px(value), _TOP, px(value), _HIGH - _BOTTOM))
        parts.append(text(px(value), _HIGH - _BOTTOM + 14, label(value)))
    parts += [_rule(px(f.x), _TOP, px(f.x), _HIGH - _BOTTOM, "#888") for f in chart.flags]
    apart = 40 * (x1 - x0) / (_WIDE - _LEFT - _RIGHT)
    parts += [text(px(at), _TOP - 3, words) for at, words in clusters(chart.flags, apart)]
    for n, line in enumerate(chart.lines):
        colour, dashes = _COLOURS[line.style % len(_COLOURS)]
        pen = f'fill="none" stroke="{colour}" stroke-dasharray="{dashes}"'
        for xs, ys in line.pieces:
            points = " ".join(
                f"{px(float(x)):.1f},{py(float(y)):.1f}" for x, y in zip(xs, ys, strict=True)
            )
            parts.append(f'<polyline {pen} points="{points}"/>')
        at = _WIDE - _RIGHT - 150 * (len(chart.lines) - n)
        parts.append(f'<path {pen} stroke-width="2" d="M{at:.0f} 10h28"/>')
        parts.append(text(at + 34, 14, line.label, "start"))
    return "".join(parts) + "</svg>"


def _rule(x1: float, y1: float, x2: float, y2: float, colour: str = "#c4cbd1") -> str:
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" '
        'stroke-width=".6"/>'
    )
