"""The report: the same content as PDF, HTML and XLSX, again and again the same bytes."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from gaugebench import report
from gaugebench.errors import JobError
from gaugebench.model.job import EVENT, Source
from gaugebench.model.trace import Trace
from gaugebench.procedure.state import JobState, evolve
from gaugebench.report import charts, content, flows
from gaugebench.report.blocks import (
    Chart,
    Flag,
    Heading,
    Line,
    Pairs,
    Signatures,
    Table,
    Text,
    clusters,
)
from gaugebench.report.html import svg
from gaugebench.report.scale import ticks
from gaugebench.report.speech import ENGLISH

MADE = datetime(2026, 3, 2, 16, 30, tzinfo=UTC)


def _write(job: JobState, trace: Trace, path: Path, paper: str = "A4") -> bytes:
    report.write(job, {"as-found.h5": trace}, path, made_at=MADE, paper=paper)
    return path.read_bytes()


@pytest.mark.parametrize("kind", report.KINDS)
@pytest.mark.parametrize("paper", report.PAPERS)
def test_identical_input_gives_identical_bytes(
    kind: str, paper: str, job: JobState, trace: Trace, tmp_path: Path
) -> None:
    first = _write(job, trace, tmp_path / f"a{kind}", paper=paper)
    second = _write(job, trace, tmp_path / f"b{kind}", paper=paper)
    assert first == second
    assert len(first) > 5000


def test_only_the_date_differs_with_the_date(job: JobState, trace: Trace, tmp_path: Path) -> None:
    one, two = tmp_path / "a.html", tmp_path / "b.html"
    report.write(job, {"as-found.h5": trace}, one, made_at=MADE)
    report.write(job, {"as-found.h5": trace}, two, made_at=MADE.replace(hour=17))
    a, b = one.read_text("utf-8"), two.read_text("utf-8")
    assert a != b
    assert a.replace("16:30", "17:30") == b


def test_what_merge_is_worth_is_told(job: JobState) -> None:
    state = job
    for seconds, merged in ((4.0, True), (8.0, False)):
        timed = {"kind": "cycle timed", "at": MADE, "check": "boom-time", "phase": "as left",
                 "seconds": {"value": seconds, "unit": "s", "expanded": 0.04},
                 "merged": merged}  # fmt: skip
        state = evolve(state, EVENT.validate_python(timed))
    told = [b.text for b in flows.flows(state, "bar") if isinstance(b, Text)]
    assert any("merge saves 50 % ± 1 % of the time" in text for text in told)


def test_a_pdf_is_whole_and_embeds_its_fonts(job: JobState, trace: Trace, tmp_path: Path) -> None:
    data = _write(job, trace, tmp_path / "a.pdf")
    assert data.startswith(b"%PDF-")
    assert data.rstrip().endswith(b"%%EOF")
    assert data.count(b"/FontFile2") == 2
    # Vector traces: not one picture in it.
    assert b"/Subtype /Image" not in data


@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_the_paper_is_the_one_asked_for(
    paper: str, size: tuple[int, int], job: JobState, trace: Trace, tmp_path: Path
) -> None:
    # ISO 216 A4 is 210 × 297 mm, Letter 8.5 × 11 in; a point is 1/72 in.
    data = _write(job, trace, tmp_path / "a.pdf", paper=paper)
    box = re.search(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+)", data)
    assert box is not None
    assert (round(float(box[1])), round(float(box[2]))) == size


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.text = ""
        self.tags: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_page_holds_what_a_customer_and_a_colleague_need(
    job: JobState, trace: Trace, tmp_path: Path
) -> None:
    page = _Words()
    page.feed(_write(job, trace, tmp_path / "a.html").decode())
    for words in (
        "Hollow Aggregates <“North”> & Søn, Łódź",
        "MT21-0417",
        "SIMULATED: not a record of a real machine",
        "Adjusted: Main relief 1, from 305.2 ± 1.5 bar to 342.1 ± 1.5 bar (band 336.0 to 348.0",
        "Outside its band: Pump 2 cut-off, 338.2 ± 1.5 bar (band 320.0 to 330.0 bar)",
        "not adjusted: to be set with the next service.",
        "Cannot be told from the reading: Swing relief.",
        "invented sheet, page 8",
        "guarded: a limit must be cleared by U, k = 2 (JCGM 106)",
        "in by 108° (0.30 turn)",
        "turn out by 108° (0.30 turn)",
        "Straight travel: no level ground at the site.",
        "As found, outside their bands: Main relief 1; Pump 2 cut-off.",
        "What that came of: Main relief 1 too low",
        "were not tested (see “What was not tested”)",
        "Nothing is said of pump 2 itself, since this was not measured: a time or flow",
        "Relief crack: the relief valve begins to pass oil.",
        "Wrong-port check, 2026-03-02 08:04: every port was right.",
        "– Eye protection and gloves on. Never feel for a leak with a hand.",
        "0.25 % of full scale",
        "hose 2 m × 2 mm",
        "This trace was not at hand when the report was made.",
        "licensed practice",
        "A pressure by itself does not show that a pump is sound.",
        "K. Orme",
        "as left, customer",
    ):
        assert words in page.text, words
    assert "script" not in page.tags
    assert page.tags.count("svg") == 2


def test_the_charts_are_svg_that_parses(job: JobState, trace: Trace, tmp_path: Path) -> None:
    text = _write(job, trace, tmp_path / "a.html").decode()
    for piece in re.findall(r"<svg.*?</svg>", text, re.DOTALL):
        root = ET.fromstring(piece)  # noqa: S314 (our own text)
        assert root.findall("polyline")


def test_the_workbook_says_the_same(job: JobState, trace: Trace, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(io.BytesIO(_write(job, trace, tmp_path / "a.xlsx")))
    assert book.sheetnames[:2] == ["Report", "Checks"]
    rows = {r[0]: r for r in book["Checks"].iter_rows(values_only=True)}
    assert rows["Main relief 1"][1:6] == (
        "336.0 to 348.0 bar",
        "305.2 ± 1.5 bar",
        "fail",
        "342.1 ± 1.5 bar",
        "pass",
    )
    assert rows["Swing relief"][3] == "cannot tell"
    assert rows["Straight travel"][3] == "not tested"
    assert rows["Pump 2 cut-off"][4] == "not adjusted"
    numbers = {r[0]: r[1:] for r in book["Figures"].iter_rows(values_only=True)}
    assert numbers["Main relief 1"][0] == "bar"
    assert list(numbers["Main relief 1"][1:]) == pytest.approx([336, 348, 305.2, 1.5, 342.1, 1.5])
    assert numbers["Straight travel"][1:3] == (None, 300)
    assert numbers["Oil temperature"][3] == pytest.approx(50.0)
    book.close()


def test_nothing_of_a_job_becomes_a_formula_or_markup(
    job: JobState, trace: Trace, tmp_path: Path
) -> None:
    opened = job.opened.model_copy(
        update={"customer": '=HYPERLINK("http://x")', "site": "<b>x</b>"}
    )
    spiked = replace(job, opened=opened)
    book = openpyxl.load_workbook(io.BytesIO(_write(spiked, trace, tmp_path / "a.xlsx")))
    found = [c for row in book["Report"].iter_rows() for c in row if str(c.value).startswith("=")]
    assert [(c.value, c.data_type) for c in found] == [('=HYPERLINK("http://x")', "s")]
    book.close()
    assert "<b>x</b>" not in _write(spiked, trace, tmp_path / "a.html").decode()
    assert _write(spiked, trace, tmp_path / "a.pdf").startswith(b"%PDF")


def test_pressures_in_the_unit_asked_for(job: JobState, trace: Trace) -> None:
    # 342.1 bar is 4962 psi (1 psi = 6894.757 Pa, NIST SP 811, appendix B.8).
    blocks = content.report(job, {}, MADE, "psi").blocks
    text = " ".join(b.text for b in blocks if isinstance(b, Text))
    assert "4962 ± 22 psi" in text
    assert " bar" not in text.split("Outside its band")[0].split("Adjusted")[1]


def test_a_thinned_chart_keeps_the_spike_and_draws_no_line_over_a_gap(
    job: JobState, trace: Trace
) -> None:
    found = [b for b in charts.charts(job, {"as-found.h5": trace}, "bar") if isinstance(b, Chart)]
    mains = found[0]
    one, two = mains.lines
    points = sum(len(x) for x, _ in one.pieces)
    assert points <= 2 * charts.COLUMNS + 4
    assert max(float(y.max()) for _, y in one.pieces) == pytest.approx(402.5)
    for line in (one, two):
        assert all(not (x[0] < 15.5 <= x[-1]) for x, _ in line.pieces)
    assert all(not (x[0] < 12.0 and x[-1] >= 13.0) for x, _ in two.pieces)
    assert [f.label for f in mains.flags] == ["1"]


def test_thinning_keeps_every_columns_extremes() -> None:
    noise = np.random.default_rng(3)
    times = np.sort(noise.uniform(0, 10, 40_000))
    values = noise.normal(0, 1, 40_000)
    x, y = charts.thin(times, values, 0.0, 10.0)
    assert len(x) <= 2 * charts.COLUMNS + 2
    assert y.max() == values.max()
    assert y.min() == values.min()
    assert np.all(np.diff(x) >= 0)
    assert set(zip(x, y, strict=True)) <= set(zip(times, values, strict=True))


def test_every_reading_carries_its_conditions(job: JobState) -> None:
    tables = [b for b in content.report(job, {}, MADE).blocks if isinstance(b, Table)]
    table = next(t for t in tables if t.name == "Conditions")
    assert len(table.rows) == len(job.readings)
    assert all("mode standard" in r[3].text for r in table.rows)


def test_marks_that_meet_share_a_label() -> None:
    flags = tuple(Flag(x, str(n)) for n, x in enumerate((1.0, 1.1, 1.2, 5.0), 1))
    assert clusters(flags, 0.5) == ((1.0, "1–3"), (5.0, "4"))


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [(0, 10, (0, 2, 4, 6, 8, 10)), (-1, 1, (-1, -0.5, 0, 0.5, 1)), (3, 3, (3,))],
)
def test_ticks_are_round(low: float, high: float, expected: tuple[float, ...]) -> None:
    assert ticks(low, high, 5) == pytest.approx(expected)


def test_what_cannot_be_written_is_told(job: JobState, tmp_path: Path) -> None:
    with pytest.raises(JobError, match="written as"):
        report.write(job, {}, tmp_path / "a.doc")
    with pytest.raises(JobError, match="A4 or Letter"):
        report.write(job, {}, tmp_path / "a.pdf", paper="A5")
    with pytest.raises(JobError, match="cannot be written"):
        report.write(job, {}, tmp_path / "none" / "a.html")


@pytest.mark.parametrize("kind", report.KINDS)
def test_a_job_just_begun_and_a_blank_sheet_make_a_report_too(kind: str, tmp_path: Path) -> None:
    import tomllib

    from gaugebench.model.job import JobOpened
    from gaugebench.procedure import sheet
    from gaugebench.procedure.state import replay

    for data in (sheet.invented_data(), tomllib.loads(sheet.blank())):
        begun = replay([JobOpened(at=MADE, job="new", sheet=data)])
        path = report.write(begun, {}, tmp_path / f"a{kind}", made_at=MADE)
        assert path.stat().st_size > 2000
        if kind == ".html":
            text = path.read_text("utf-8")
            assert "Cannot tell: nothing was read yet" in text
            assert "No kit was stated" in text


def test_no_text_is_too_long_for_a_page(job: JobState, tmp_path: Path) -> None:
    from dataclasses import replace

    long = "a very long remark " * 600
    unbroken = "x" * 3000
    kit = job.kit[0].model_copy(update={"fitting": long, "serial": unbroken})
    opened = job.opened.model_copy(update={"customer": unbroken, "site": long})
    state = replace(job, kit=(kit,), opened=opened, not_adjusted={"pump2-cut-off": long})
    for kind in report.KINDS:
        path = report.write(state, {}, tmp_path / f"a{kind}", made_at=MADE)
        assert path.stat().st_size > 5000


def _texts(block: object) -> list[str]:
    """Every text of a block that a page has to show."""
    match block:
        case Heading() | Text():
            return [block.text]
        case Pairs():
            return [text for pair in block.rows for text in pair]
        case Table():
            return [*block.head, *(cell.text for cells in block.rows for cell in cells)]
        case Signatures():
            return [line[0] for line in block.lines]
        case Chart():
            return [block.title]
        case _:
            return []


def test_page_and_workbook_hold_the_same(job: JobState, trace: Trace, tmp_path: Path) -> None:
    made = content.report(job, {"as-found.h5": trace}, MADE)
    wanted = [t for block in made.blocks for t in _texts(block) if t] + [made.footer, made.banner]
    assert len(wanted) > 300
    page = _Words()
    page.feed(_write(job, trace, tmp_path / "a.html").decode())
    assert [t for t in wanted if t not in page.text] == []
    book = openpyxl.load_workbook(io.BytesIO(_write(job, trace, tmp_path / "a.xlsx")))
    cells = "\n".join(
        str(c.value) for sheet in book for row in sheet.iter_rows() for c in row if c.value
    )
    book.close()
    assert [t for t in wanted if t not in cells] == []


def test_what_was_read_is_lettered_over_the_charts(job: JobState, trace: Trace) -> None:
    blocks = content.report(job, {"as-found.h5": trace}, MADE).blocks
    pictures = [b for b in blocks if isinstance(b, Chart)]
    assert [(s.label, s.start_s, s.end_s) for s in pictures[0].spans] == [("A", 4.1, 9.0)]
    assert [line.label for line in pictures[0].lines] == ["Pump 1", "Pump 2"]
    (table,) = [b for b in blocks if isinstance(b, Table) and b.name == "Readings as-found.h5"]
    assert [c.text for c in table.rows[0]] == [
        "A", "4.1 to 9.0 s", "Main relief 1", "as found", "305.2 ± 1.5 bar", "fail",
    ]  # fmt: skip


def test_letters_go_on_after_z(job: JobState) -> None:
    readings = tuple(
        (n, reading.model_copy(update={"source": Source(trace="t.h5", start_s=n, end_s=n + 0.5)}))
        for n, (_, reading) in enumerate(job.readings[:1] * 28)
    )
    letters = [span.label for span, _ in charts.taken(replace(job, readings=readings), "t.h5")]
    assert letters[:2] + letters[25:] == ["A", "B", "Z", "AA", "AB"]


def test_what_was_adjusted_is_drawn_before_and_after(job: JobState, trace: Trace) -> None:
    hold = Source(trace="as-left.h5", loading=0, start_s=5.1, end_s=10.0)
    readings = tuple(
        (n, r.model_copy(update={"source": hold}) if r.source.trace == "as-left.h5" else r)
        for n, r in job.readings
    )
    later = replace(
        trace, series=tuple(replace(s, times=s.times + 1.0) for s in trace.series), gaps=()
    )
    both = {"as-found.h5": trace, "as-left.h5": later}
    blocks = content.report(replace(job, readings=readings), both, MADE).blocks
    (chart,) = [b for b in blocks if isinstance(b, Chart) and "as found and as left" in b.title]
    assert [line.label for line in chart.lines] == ["as found", "as left"]
    # The invented sheet's band is 336 to 348 bar.
    assert chart.limits == pytest.approx((336.0, 348.0))
    assert chart.x == pytest.approx((-0.5, 5.4), abs=0.01)
    # The second trace is the first, a second later: on one clock they lie on each other.
    (first,), (second,) = (line.pieces for line in chart.lines)
    assert first[0] == pytest.approx(second[0], abs=0.02)  # thinned to the same columns
    assert first[1] == pytest.approx(second[1], abs=0.5)
    assert not any(
        isinstance(b, Chart) and "as found and as left" in b.title
        for b in content.report(job, {"as-found.h5": trace}, MADE).blocks
    ), "without the other trace there is nothing to lay beside"


@pytest.mark.parametrize("count", [1, 3, 5])
def test_a_legend_keeps_clear_of_the_title(count: int) -> None:
    times = np.array([0.0, 1.0])
    lines = tuple(Line(f"A long name, {n}", ((times, times),), n) for n in range(count))
    drawn = svg(Chart("Control and pilot pressures", lines, "s", "bar", (0, 1), (0, 1)), ENGLISH)
    samples = [(float(x), float(y)) for x, y in re.findall(r'd="M(\d+) (\d+)h28"', drawn)]
    assert len(samples) == count
    is_beside = samples[0][1] < 14
    assert is_beside == (count < 5)
    # The title begins at 60 and is 27 letters of some 6 units.
    assert samples[0][0] > (60 + 27 * 6 if is_beside else 60)
    gaps = np.diff([x for x, _ in samples])
    assert np.all(gaps > 34 + 14 * 6)
