"""The page of measurements: one Markdown table, the machine, and how each part went.

`bench.py` makes it of what the `measured` fixture in tests/bench noted.
"""

from __future__ import annotations

import os
import platform
from collections.abc import Mapping, Sequence
from importlib import metadata
from pathlib import Path
from typing import Any

SHOWN = ("numpy", "PySide6_Essentials", "pyqtgraph", "h5py", "pandas")
BEGIN = "<!-- written by `start.py bench --publish` -->"
END = "<!-- end of the measurements -->"

Rows = Sequence[dict[str, Any]]


def table(rows: Rows) -> str:
    """The rows as a Markdown table, in the order measured; a later row of one figure replaces."""
    latest = {row["figure"]: row for row in rows if "figure" in row}
    lines = ["| figure | measured | held against | ratio | note |", "|---|---:|---:|---:|---|"]
    for row in latest.values():
        limit, unit = row["limit"], row["unit"]
        against = "" if limit is None else f"{limit:.4g} {unit}".rstrip()
        ratio = f"{row['value'] / limit:.2f}" if limit else ""
        measured = f"{row['value']:.4g} {unit}".rstrip()
        cells = (row["figure"], measured, against, ratio, row["note"])
        lines.append("| " + " | ".join(str(cell).replace("|", "\\|") for cell in cells) + " |")
    return "\n".join(lines)


def outcome(rows: Rows) -> str:
    """How a part went, in a few words, with the tests that failed."""
    last = rows[-1]
    failed = [f"`{row['failed'].rpartition('::')[2]}`" for row in rows if "failed" in row]
    if "status" not in last:
        return "cut short"
    match last["status"]:
        case 0:
            return "all as held against"
        case 130 | 2:
            return "stopped"
        case 1:
            return "failed: " + (", ".join(failed) or "see its output")
        case status:
            return f"ended with status {status}"


def page(parts: Mapping[str, Rows]) -> str:
    """The whole page: where and when, the figures of all parts, and how each part went."""
    first = next(iter(parts.values()))[0]
    began = sorted(rows[0]["began"] for rows in parts.values())
    when = began[0] if began[0] == began[-1] else f"from {began[0]} to {began[-1]}"
    lines = [
        f"Measured {when} UTC on {first['machine']}.",
        "",
        table([row for rows in parts.values() for row in rows]),
        "",
        "| part | begun, UTC | took | outcome |",
        "|---|---|---:|---|",
    ]
    for name, rows in parts.items():
        took = f"{rows[-1]['took_s'] / 60:.1f} min" if "took_s" in rows[-1] else ""
        lines.append(f"| {name} | {rows[0]['began']} | {took} | {outcome(rows)} |")
    return "\n".join(lines) + "\n"


def put_between_marks(text: str, page: str) -> str:
    """`text` with the page between the two marks in it; raises ValueError where they are not."""
    before, begin, rest = text.partition(BEGIN)
    _old, end, after = rest.partition(END)
    if not begin or not end:
        raise ValueError(f"the marks “{BEGIN}” and “{END}” are not there")
    return f"{before}{BEGIN}\n\n{page}\n{END}{after}"


def machine() -> str:
    """One line on what measured: processor, system, Python and the libraries that matter."""
    libraries = ", ".join(f"{name} {metadata.version(name)}" for name in SHOWN)
    kernel = ".".join(platform.release().split(".")[:2])
    return (
        f"{os.cpu_count()} cores {processor()}, {platform.system()} {kernel}, "
        f"Python {platform.python_version()}, {libraries}"
    )


def processor() -> str:
    """The processor's own name where the system tells it, else its architecture."""
    listed = Path("/proc/cpuinfo")
    if listed.exists():
        for line in listed.read_text(encoding="utf-8", errors="replace").splitlines():
            key, _, value = line.partition(":")
            if key.strip() == "model name":
                return value.strip()
    return platform.machine()
