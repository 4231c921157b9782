"""The job book finds jobs again, follows meters and zeros, and never is the truth itself."""

from __future__ import annotations

import json
import sqlite3
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from gaugebench.errors import BookError, TraceError
from gaugebench.model.channel import Transducer
from gaugebench.model.trace import Particulars, Trace
from gaugebench.store.book.book import Book, default_path
from gaugebench.store.book.handover import hand_over, take_in
from gaugebench.store.book.schema import backup_of
from gaugebench.store.tracefile import write_trace


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with Book(tmp_path / "data" / "book.sqlite") as made:
        yield made


class Shelf:
    """Makes trace files of several jobs."""

    def __init__(self, trace: Trace, folder: Path) -> None:
        self._trace = trace
        self.folder = folder
        folder.mkdir()

    def put(self, name: str, day: int = 0, **about: object) -> Path:
        told = {"machine": "Harrow 210", "serial": "HX-7", "customer": "Müller Tiefbau",
                "job": "J-1", "hour_meter_h": None, **about}  # fmt: skip
        started = datetime(2026, 3, 4, 10, tzinfo=UTC) + timedelta(days=day)
        series = tuple(
            replace(s, channel=replace(s.channel, transducer=Transducer(f"T{n}")))
            for n, s in enumerate(self._trace.series)
        )
        made = replace(
            self._trace, series=series, started=started,
            particulars=Particulars(**told),  # type: ignore[arg-type]
        )  # fmt: skip
        return write_trace(made, self.folder / name)


@pytest.fixture
def shelf(small_trace: Trace, tmp_path: Path) -> Shelf:
    return Shelf(small_trace, tmp_path / "traces")


def test_a_job_gathers_its_traces(book: Book, shelf: Shelf) -> None:
    paths = [shelf.put(f"visit{n}.h5", day=n) for n in range(2)]
    other = shelf.put("other.h5", job="J-2", machine="Plover 9", serial="PL-3")
    first = book.add_trace(paths[1])
    assert book.add_trace(paths[0]) == first
    assert book.add_trace(other) != first
    found = book.job(first)
    assert (found.job, found.machine, found.customer) == ("J-1", "Harrow 210", "Müller Tiefbau")
    assert found.opened_on == "2026-03-04"
    assert [t.path for t in found.traces] == [p.resolve() for p in paths]
    assert found.traces[0].seconds == pytest.approx(1.999)


def test_a_trace_taken_in_twice_is_there_once(book: Book, shelf: Shelf) -> None:
    path = shelf.put("visit.h5")
    assert book.add_trace(path) == book.add_trace(path)
    assert len(book.job(1).traces) == 1


@pytest.mark.parametrize(
    ("text", "jobs"),
    [
        ("harrow", ["J-1"]), ("HX-7", ["J-1"]), ("muller tief", ["J-2", "J-1"]), ("plo", ["J-2"]),
        ("visit 1", []), ("J", ["J-2", "J-1"]), ("", ["J-2", "J-1"]), ("nobody", []),
        ('"; DROP TABLE job; --', []), ("plover OR harrow", []), ("stall boom", ["J-1"]),
    ],
)  # fmt: skip
def test_every_word_must_begin_a_word(book: Book, shelf: Shelf, text: str, jobs: list[str]) -> None:
    book.add_trace(shelf.put("boom stall.h5"))
    book.add_trace(shelf.put("x.h5", 1, job="J-2", machine="Plover 9", serial="PL-3"))
    assert [row.job for row in book.search(text)] == jobs


def test_a_meter_that_goes_back_is_asked_and_a_replaced_one_counts_on(book: Book) -> None:
    book.read_meter("Harrow 210", "HX-7", 5000.0, "2026-01-01")
    book.read_meter("Harrow 210", "HX-7", 5120.0, "2026-02-01")
    with pytest.raises(BookError, match=r"5120 h on 2026-02-01 and cannot stand at 12 h"):
        book.read_meter("Harrow 210", "HX-7", 12.0, "2026-03-01")
    book.read_meter("Harrow 210", "HX-7", 12.0, "2026-03-01", replaced=True)
    book.read_meter("Harrow 210", "HX-7", 50.0, "2026-04-01")
    readings = book.meter("Harrow 210", "HX-7")
    assert [r.hours for r in readings] == [5000.0, 5120.0, 12.0, 50.0]
    assert [r.total_h for r in readings] == [5000.0, 5120.0, 5132.0, 5170.0]
    assert not any(r.questioned for r in readings)


def test_a_lower_reading_in_a_trace_is_kept_and_questioned(book: Book, shelf: Shelf) -> None:
    book.add_trace(shelf.put("a.h5", 0, hour_meter_h=5120.0))
    book.add_trace(shelf.put("b.h5", 1, hour_meter_h=512.0))
    book.add_trace(shelf.put("c.h5", 2, hour_meter_h=5130.0))
    assert [r.questioned for r in book.meter("Harrow 210", "HX-7")] == [False, True, False]


def test_zeros_are_followed(book: Book) -> None:
    book.check_zero("T7", 12_000.0, "2026-02-01T08:00", "cold")
    book.check_zero("T7", 9_000.0, "2026-01-01T08:00")
    assert [z.zero_pa for z in book.zero_checks("T7")] == [9_000.0, 12_000.0]
    assert book.zero_checks("unknown") == ()


def test_the_book_is_made_anew_from_a_folder(book: Book, shelf: Shelf) -> None:
    for n in range(4):
        shelf.put(f"v{n}.h5", day=n, job=f"J-{n // 2}")
    (shelf.folder / "broken.h5").write_bytes(b"\x89HDF\r\n\x1a\n")
    (shelf.folder / ".half.part.h5").write_bytes(b"")
    book.add_trace(shelf.put("gone.h5", job="J-9"))
    (shelf.folder / "gone.h5").unlink()
    book.check_zero("T7", 9_000.0, "2026-01-01T08:00")
    told: list[float] = []

    def go_on(share: float) -> bool:
        told.append(share)
        return True

    done = book.rebuild(shelf.folder, go_on)
    assert (done.traces, done.jobs) == (4, 2)
    assert len(done.left_out) == 1
    assert "broken.h5" in done.left_out[0]
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert book.search("J-9") == ()
    assert len(book.zero_checks("T7")) == 1


def test_a_rebuild_that_is_stopped_changes_nothing(book: Book, shelf: Shelf) -> None:
    job = book.add_trace(shelf.put("a.h5"))
    shelf.put("b.h5", job="J-2")
    with pytest.raises(BookError, match="it is as it was"):
        book.rebuild(shelf.folder, lambda share: share < 0.4)
    assert len(book.job(job).traces) == 1
    assert [r.job for r in book.search("")] == ["J-1"]


def test_a_damaged_book_gives_way_to_its_backup(tmp_path: Path, shelf: Shelf) -> None:
    path = tmp_path / "book.sqlite"
    with Book(path) as book:
        assert book.told is None
        book.add_trace(shelf.put("a.h5"))
    data = bytearray(path.read_bytes())
    data[4096:12288] = bytes(8192)
    path.write_bytes(data)
    with Book(path) as book:
        assert "its backup of" in str(book.told)
        assert [r.job for r in book.search("")] == ["J-1"]
    assert len(list(tmp_path.glob("book.damaged-*.sqlite"))) == 1


@pytest.mark.parametrize("content", [b"", b"no database at all" * 100])
def test_without_a_backup_it_begins_anew_and_says_so(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "book.sqlite"
    path.write_bytes(content)
    with Book(path) as book:
        assert book.search("") == ()
        assert (book.told is None) == (content == b"")
    assert backup_of(path).exists()


def test_a_book_of_a_newer_version_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    base = sqlite3.connect(path)
    base.execute("PRAGMA user_version = 99")
    base.commit()
    base.close()
    with pytest.raises(BookError, match="newer version"):
        Book(path)


def test_what_is_no_trace_changes_nothing(book: Book, tmp_path: Path) -> None:
    (tmp_path / "x.h5").write_bytes(b"nothing")
    with pytest.raises(TraceError):
        book.add_trace(tmp_path / "x.h5")
    with pytest.raises(BookError, match="no job number 7"):
        book.job(7)
    assert book.search("") == ()


def test_it_lives_in_the_users_data_folder() -> None:
    assert default_path().name == "book.sqlite"
    assert default_path().parent.name == "gaugebench"


# --- handing over


def test_a_job_goes_in_one_file_and_is_read_elsewhere(
    book: Book, shelf: Shelf, tmp_path: Path
) -> None:
    job = book.add_trace(shelf.put("a.h5"))
    book.add_trace(shelf.put("b.h5", 1))
    report = tmp_path / "report.pdf"
    report.write_bytes(b"%PDF-1.7 invented")
    bundle = hand_over(book, job, tmp_path / "J-1", [report])
    assert bundle.name == "J-1.gaugebench-job"
    with Book(tmp_path / "elsewhere.sqlite") as other:
        number, files = take_in(other, bundle, tmp_path / "elsewhere")
        assert [p.name for p in files] == ["a.h5", "b.h5", "report.pdf"]
        assert files[2].read_bytes() == report.read_bytes()
        found = other.job(number)
        assert (found.job, found.customer, len(found.traces)) == ("J-1", "Müller Tiefbau", 2)
        _, again = take_in(other, bundle, tmp_path / "elsewhere")
        assert again[0].name == "a (2).h5"


def test_a_trace_that_is_gone_is_told(book: Book, shelf: Shelf, tmp_path: Path) -> None:
    path = shelf.put("a.h5")
    job = book.add_trace(path)
    path.unlink()
    with pytest.raises(BookError, match="is no longer there"):
        hand_over(book, job, tmp_path / "J-1")


def _bundle(path: Path, name: str, content: bytes, size: int, digest: str) -> Path:
    with zipfile.ZipFile(path, "w") as bundle:
        bundle.writestr(name, content)
        listed = [{"name": name, "size": size, "sha256": digest}]
        bundle.writestr("job.json", json.dumps({"format": 1, "job": {}, "files": listed}))
    return path


@pytest.mark.parametrize("name", ["../out.h5", "/out.h5", "a/b.h5", "..\\out.h5", ".hidden"])
def test_a_name_that_leads_out_is_refused(book: Book, tmp_path: Path, name: str) -> None:
    bundle = _bundle(tmp_path / "x.gaugebench-job", name, b"abc", 3, "0" * 64)
    with pytest.raises(BookError, match="not allowed"):
        take_in(book, bundle, tmp_path / "in")
    assert not (tmp_path / "out.h5").exists()


@pytest.mark.parametrize(
    ("size", "words"), [(3, "checksum differs"), (2, "as long"), (9, "as long")]
)
def test_damage_on_the_way_is_told(book: Book, tmp_path: Path, size: int, words: str) -> None:
    bundle = _bundle(tmp_path / "x.gaugebench-job", "a.h5", b"abc", size, "0" * 64)
    with pytest.raises(BookError, match=words):
        take_in(book, bundle, tmp_path / "in")
    assert list((tmp_path / "in").iterdir()) == []


def test_a_bundle_cannot_unpack_to_more_than_it_holds(book: Book, tmp_path: Path) -> None:
    entry = {"name": "a.h5", "size": 1 << 24, "sha256": "0" * 64}
    for name, packing, files in (
        ("squeezed", zipfile.ZIP_DEFLATED, [entry]),
        ("named twice", zipfile.ZIP_STORED, [entry, entry]),
    ):
        path = tmp_path / f"{name}.gaugebench-job"
        with zipfile.ZipFile(path, "w", packing) as bundle:
            bundle.writestr("a.h5", bytes(1 << 24))
            bundle.writestr("job.json", json.dumps({"format": 1, "job": {}, "files": files}))
        with pytest.raises(BookError, match="more than it holds"):
            take_in(book, path, tmp_path / "in")
        assert list((tmp_path / "in").iterdir()) == []


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 half", b"no zip"])
def test_what_is_no_job_is_told(book: Book, tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "x.gaugebench-job"
    path.write_bytes(content)
    with pytest.raises(BookError, match="not a whole handed-over job"):
        take_in(book, path, tmp_path / "in")
