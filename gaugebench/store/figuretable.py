"""Figures as a plain table with numbers as numbers: CSV or XLSX, one figure a row."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

from gaugebench.errors import TraceError
from gaugebench.model.figures import FigureSet
from gaugebench.store import tables
from gaugebench.store.figurerows import figure_rows
from gaugebench.store.newfile import write_new


def write_figures(found: FigureSet, path: Path) -> Path:
    """Write the table that `path` ends in, `.csv` or `.xlsx`; a taken name gets a number.

    Columns as in the trace file's table of figures (FORMAT.md); values in the unit used inside,
    which each row states; the settings follow below or on a second sheet. Raises `RecordError`,
    `TraceError`.
    """
    writers = {".csv": _write_csv, ".xlsx": _write_xlsx}
    writer = writers.get(path.suffix.lower())
    if writer is None:
        raise TraceError(f"“{path.name}” should end in {' or '.join(writers)}.")
    return write_new(path, lambda part: writer(found, part))


def _lines(found: FigureSet) -> list[list[Any]]:
    names = [c.name for c in tables.FIGURES.columns]
    return [names, *([row.get(name) for name in names] for row in figure_rows(found))]


def _about(found: FigureSet) -> list[tuple[str, Any]]:
    return [("reference", found.reference), *sorted(found.settings.items())]


def _write_csv(found: FigureSet, part: Path) -> None:
    with part.open("x", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        for line in _lines(found):
            writer.writerow(["" if cell is None else cell for cell in line])
        writer.writerow([])
        writer.writerows(("setting", name, value) for name, value in _about(found))


def _write_xlsx(found: FigureSet, part: Path) -> None:
    import xlsxwriter  # only where a workbook is asked for
    from xlsxwriter.exceptions import FileCreateError

    # A cell that begins with “=” is text of ours and never a formula; a reading is never a link.
    options = {"strings_to_formulas": False, "strings_to_urls": False, "in_memory": True}
    book = xlsxwriter.Workbook(str(part), options)
    bold = book.add_format({"bold": True})
    figures = book.add_worksheet("Figures")
    for number, line in enumerate(_lines(found)):
        figures.write_row(number, 0, line, bold if number == 0 else None)
    figures.freeze_panes(1, 0)
    settings = book.add_worksheet("Settings")
    for number, pair in enumerate(_about(found)):
        settings.write_row(number, 0, pair)
    try:
        book.close()
    except FileCreateError as fault:
        raise OSError(*fault.args) from fault
