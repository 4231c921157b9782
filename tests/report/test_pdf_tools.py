"""The PDF as other programs see it: needs poppler-utils."""

from __future__ import annotations

import re
import subprocess
from datetime import UTC, datetime
from pathlib import Path

import pytest

from gaugebench import report
from gaugebench.model.trace import Trace
from gaugebench.procedure.state import JobState

pytestmark = pytest.mark.tools
MADE = datetime(2026, 3, 2, 16, 30, tzinfo=UTC)


@pytest.fixture(scope="module", params=report.PAPERS)
def path(
    request: pytest.FixtureRequest,
    job: JobState,
    trace: Trace,
    tmp_path_factory: pytest.TempPathFactory,
) -> Path:
    out = tmp_path_factory.mktemp("pdf") / "a.pdf"
    return report.write(job, {"as-found.h5": trace}, out, paper=request.param, made_at=MADE)


def _run(*command: str | Path) -> str:
    done = subprocess.run(command, capture_output=True, check=True, text=True, encoding="utf-8")
    return done.stdout


def test_its_text_can_be_selected(path: Path) -> None:
    text = re.sub(r"\s+", " ", _run("pdftotext", "-layout", path, "-"))
    for words in ("Łódź", "SIMULATED", "As found", "± 1.5 bar", "Main pressures", "Signed"):
        assert words in text
    first = re.sub(r"\s+", " ", _run("pdftotext", "-l", "1", path, "-"))
    for words in ("In short", "Adjusted: Main relief 1", "Outside its band", "as left, customer"):
        assert words in first, "page one is the customer's"


def test_every_page_is_numbered(path: Path) -> None:
    pages = int(re.search(r"Pages:\s+(\d+)", _run("pdfinfo", path))[1])  # type: ignore[index]
    assert pages >= 4
    for n in range(1, pages + 1):
        text = _run("pdftotext", "-f", str(n), "-l", str(n), path, "-")
        assert f"Page {n} of {pages}" in text


def test_every_font_is_embedded(path: Path) -> None:
    lines = _run("pdffonts", path).splitlines()[2:]
    assert len(lines) == 2
    for line in lines:
        assert "DejaVuSans" in line
        assert re.search(r"\syes\s+yes\s+yes\s", line), "embedded, subset, with a map to Unicode"


def test_it_holds_no_picture(path: Path) -> None:
    assert len(_run("pdfimages", "-list", path).splitlines()) == 2


def test_every_page_draws_something_inside_its_margins(path: Path, tmp_path: Path) -> None:
    from PIL import Image

    _run("pdftoppm", "-r", "60", "-gray", "-png", path, tmp_path / "p")
    found = sorted(tmp_path.glob("p*.png"))
    assert found
    for picture in found:
        with Image.open(picture) as image:
            ink = image.point(lambda v: 255 if v < 200 else 0).getbbox()
            assert ink is not None
            margin = 60 * 8 / 25.4  # 8 mm
            assert ink[0] >= margin
            assert ink[2] <= image.width - margin
            assert ink[3] <= image.height - margin
