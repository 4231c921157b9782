"""The report in German: nothing of the program's own left in English, and numbers with commas."""

from __future__ import annotations

import ast
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest

import gaugebench.report
from gaugebench import report
from gaugebench.desk.words import Speaker
from gaugebench.errors import JobError
from gaugebench.model.job import KitUsed
from gaugebench.model.saying import Saying, Written
from gaugebench.model.trace import Trace
from gaugebench.procedure.state import JobState
from gaugebench.quantity import Number
from gaugebench.report import content
from gaugebench.report.columns import fitted
from gaugebench.report.spoken import spoken

MADE = datetime(2026, 3, 2, 16, 30, tzinfo=UTC)
ROOM = Path(gaugebench.report.__file__).parent
NO_TEXTS = {"html.py", "looks.py", "pdf.py", "pdfchart.py", "visit.py", "xlsx.py"}
"""Modules that write markup, or speak to the command line; their own texts are in sayings."""


class Listener:
    """Says German, and keeps what it was asked for."""

    language = "de"

    def __init__(self) -> None:
        self.speaker = Speaker("de")
        self.plain: set[str] = set()

    def said(self, text: str) -> str:
        self.plain |= set(_plain(text))
        return self.speaker.said(text)


def _plain(text: str) -> Iterator[str]:
    """What of a text has to be known as it stands: neither number, nor written by somebody."""
    match text:
        case Saying():
            for value in text.values.values():
                yield from _plain(value)
        case Number() | Written():
            return
        case _:
            if any(c.isalpha() for c in text):
                yield str(text)


def _written(data: Any) -> Iterator[str]:
    """Every text of a sheet."""
    match data:
        case str():
            yield data
        case Mapping():
            for value in data.values():
                yield from _written(value)
        case list():
            for value in data:
                yield from _written(value)


def _as_a_kit_says(state: JobState) -> JobState:
    """The job with the kit's words as a kit gives them, not as an older job has them in plain."""
    share = Saying("{percent} % of full scale", percent=Number("0.25"))
    ends = Saying("{low} to {high}", low=Number("0 bar"), high=Number("600 bar"))
    kit = tuple(k.model_copy(update={"accuracy": share, "range_text": ends}) for k in state.kit)
    return replace(state, kit=kit)


def test_nothing_of_the_programs_own_is_left_in_english(job: JobState, trace: Trace) -> None:
    listener = Listener()
    made = content.report(_as_a_kit_says(job), {"as-found.h5": trace}, MADE)
    spoken(made, listener)
    assert not listener.speaker.missing
    own = set(_written(job.opened.sheet))
    assert len(listener.plain) > 20
    left = listener.plain - own - set(listener.speaker.catalogue)
    assert not left


def test_every_text_of_the_report_is_a_saying() -> None:
    loose: list[str] = []
    for path in (p for p in ROOM.glob("*.py") if p.name not in NO_TEXTS):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        aside = {
            id(part)
            for node in ast.walk(tree)
            if (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant))
            or (isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Saying")
            for part in ast.walk(node)
        }
        for node in (n for n in ast.walk(tree) if id(n) not in aside):
            if isinstance(node, ast.JoinedStr):
                fixed = [v.value for v in node.values if isinstance(v, ast.Constant)]
            else:
                fixed = [node.value] if isinstance(node, ast.Constant) else []
            texts = [v for v in fixed if isinstance(v, str) and " " in v]
            loose += [t for t in texts if any(c.isalpha() for c in t)]
    # A unit, and the name of a moment in the file of cautions.
    assert set(loose) == {" h", "hands in"}


def test_the_page_is_german_with_commas_and_what_was_written_stays(
    job: JobState, trace: Trace, tmp_path: Path
) -> None:
    opened = job.opened.model_copy(update={"customer": "Pilot", "site": "open"})
    state = replace(_as_a_kit_says(job), opened=opened, not_tested={"straight-travel": "off"})
    path = tmp_path / "a.html"
    report.write(state, {"as-found.h5": trace}, path, made_at=MADE, speech=Speaker("de"))
    page = path.read_text("utf-8")
    for words in (
        '<html lang="de">',
        "SIMULIERT: keine Aufzeichnung von einer wirklichen Maschine",
        "Eingestellt: Main relief 1, von 305,2 ± 1,5 bar auf 342,1 ± 1,5 bar (Band 336,0 bis 348,0",
        "nicht eingestellt: to be set with the next service.",
        "Aus der Ablesung nicht zu entscheiden: Swing relief.",
        "<th>Kunde</th><td>Pilot</td>",
        "<th>Ort</th><td>open</td>",
        "Straight travel: off.",
        "Nie mit der Hand nach einem Leck tasten.",
        "0,25 % vom Endwert",
        "Öl unter Druck durchdringt Haut und Handschuhe",
        "örtliche Vorschriften und zugelassene Praxis",
        "erstellt 2026-03-02 16:30",
    ):
        assert words in page, words
    shown = re.sub(r"<style>.*?</style>|<[^>]*>", " ", page, flags=re.DOTALL)
    assert not re.findall(r"\d\.\d", shown)
    report.write(state, {"as-found.h5": trace}, path, made_at=MADE)
    assert '<html lang="en">' in path.read_text("utf-8")


@pytest.mark.parametrize("kind", report.KINDS)
def test_a_german_report_repeats_itself_too(
    kind: str, job: JobState, trace: Trace, tmp_path: Path
) -> None:
    path = tmp_path / f"a{kind}"
    made = [
        report.write(
            job, {"as-found.h5": trace}, path, made_at=MADE, speech=Speaker("de")
        ).read_bytes()
        for _ in range(2)
    ]
    assert made[0] == made[1]
    assert kind != ".pdf" or b"/Lang (de)" in made[0]


def test_numbers_of_the_workbook_stay_numbers(job: JobState, trace: Trace, tmp_path: Path) -> None:
    path = report.write(job, {"as-found.h5": trace}, tmp_path / "a.xlsx", speech=Speaker("de"))
    book = openpyxl.load_workbook(io.BytesIO(path.read_bytes()))
    assert book.sheetnames[:3] == ["Bericht", "Prüfungen", "Kennwerte"]
    numbers = {r[0]: r[1:] for r in book["Kennwerte"].iter_rows(values_only=True)}
    assert numbers["Prüfung"][:3] == ("Einheit", "Band unten", "Band oben")
    assert list(numbers["Main relief 1"][1:]) == pytest.approx([336, 348, 305.2, 1.5, 342.1, 1.5])
    rows = {r[0]: r for r in book["Prüfungen"].iter_rows(values_only=True)}
    assert rows["Main relief 1"][2:4] == ("305,2 ± 1,5 bar", "außer Band")
    book.close()


def test_what_keeps_a_report_from_being_written_is_said_in_german_too(
    job: JobState, tmp_path: Path
) -> None:
    with pytest.raises(JobError) as refused:
        report.write(job, {}, tmp_path / "a.pdf", paper="A5")
    assert Speaker("de").said(refused.value.args[0]) == "Das Papier ist A4 oder Letter, nicht „A5“."


def test_a_column_is_as_wide_as_its_longest_word() -> None:
    assert fitted((1, 1, 2), (10, 10, 10), 100) == pytest.approx([25, 25, 50])
    # 15 wanting, taken from the 15 and 30 that the others can spare: 5 and 10.
    assert fitted((1, 1, 2), (40, 10, 20), 100) == pytest.approx([40, 20, 40])
    assert fitted((1, 1), (80, 30), 100) == pytest.approx([50, 50])  # too little in all


def test_a_job_keeps_what_the_kit_said_with_its_template(job: JobState) -> None:
    (used,) = _as_a_kit_says(job).kit
    back = KitUsed.model_validate_json(used.model_dump_json())
    assert back.accuracy == "0.25 % of full scale"
    assert Speaker("de").said(back.accuracy) == "0,25 % vom Endwert"
    assert KitUsed(at=MADE, role="pilot", accuracy="0.5 %").accuracy == "0.5 %"
