"""Make the bench page from measured rows: one Markdown table that says where and when.

    python packaging/bench_table.py ROWS.jsonl TABLE.md

`packaging/start.py bench` runs this; the rows come from the `measured` fixture in tests/bench.
"""

from __future__ import annotations

import json
import os
import platform
import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path
from typing import Any

SHOWN = ("numpy", "PySide6_Essentials", "pyqtgraph", "h5py", "pandas")


def table(rows: Sequence[dict[str, Any]]) -> str:
    """The rows as a Markdown table, in the order measured; a later row of one figure replaces."""
    latest = {row["figure"]: row for row in rows}
    lines = ["| figure | measured | held against | ratio | note |", "|---|---:|---:|---:|---|"]
    for row in latest.values():
        limit, unit = row["limit"], row["unit"]
        against = "" if limit is None else f"{limit:.4g} {unit}"
        ratio = f"{row['value'] / limit:.2f}" if limit else ""
        lines.append(
            f"| {row['figure']} | {row['value']:.4g} {unit} | {against} | {ratio} | {row['note']} |"
        )
    return "\n".join(lines)


def machine() -> str:
    """One line on what measured: cores, kernel, Python and the libraries that matter."""
    libraries = ", ".join(f"{name} {metadata.version(name)}" for name in SHOWN)
    return (
        f"{os.cpu_count()} cores {platform.machine()}, {platform.system()} {platform.release()}, "
        f"Python {platform.python_version()}, {libraries}"
    )


def main(arguments: Sequence[str]) -> int:
    """Read the rows, write the table, print it."""
    source, target = (Path(name) for name in arguments)
    if not source.exists():
        print("Nothing was measured, so no table was written.", file=sys.stderr)
        return 1
    rows = [json.loads(line) for line in source.read_text(encoding="utf-8").splitlines()]
    when = datetime.now(UTC).strftime("%Y-%m-%d %H:%M UTC")
    text = f"Measured {when} on {machine()}.\n\n{table(rows)}\n"
    target.write_text(text, encoding="utf-8")
    print(f"\n{text}\nWritten to {target}.")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
