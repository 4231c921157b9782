"""The book itself: take traces in, find jobs again, follow meters and zeros."""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any

from gaugebench.errors import BookError, TraceError
from gaugebench.model.channel import Channel
from gaugebench.model.trace import Particulars
from gaugebench.quantity import Dimension
from gaugebench.store.book import schema
from gaugebench.store.book.rows import JobRow, MeterReading, Rebuilt, TraceRow, ZeroCheck
from gaugebench.store.tracefile import TraceFile

_WORD = re.compile(r"\w+", re.UNICODE)
_JOBS = """
SELECT job.id, job.number, machine.name AS machine, machine.serial, job.site, job.technician,
       job.opened_on, job.notes, COALESCE(customer.name, '') AS customer
FROM job JOIN machine ON machine.id = job.machine LEFT JOIN customer ON customer.id = job.customer
"""
_FOUND = """
WHERE job.id IN (SELECT rowid FROM job_search WHERE words MATCH ?)
ORDER BY opened_on DESC, job.id DESC LIMIT ?
"""


def default_path() -> Path:
    """Where the user's book is kept."""
    import platformdirs  # only where the book is used

    return Path(platformdirs.user_data_dir("gaugebench", appauthor=False)) / "book.sqlite"


class Book:
    """An open job book; close it, or use it as a context manager. Not for several threads.

    told: what had to be done about damage when it was opened, one sentence, or None. Every method
    may raise `BookError`.
    """

    def __init__(self, path: Path | None = None) -> None:
        self.path = path or default_path()
        self._base, self.told = schema.opened(self.path)

    def __enter__(self) -> Book:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Write the backup and close."""
        try:
            with suppress(sqlite3.Error, OSError):  # the book itself is whole; a backup is extra
                schema.back_up(self._base, self.path)
        finally:
            self._base.close()

    def add_trace(self, path: Path) -> int:
        """Take a trace file in, again where it is known already; the number of its job.

        Raises `TraceError` where the file cannot be read.
        """
        file = TraceFile(path)
        about = file.head.particulars
        started = file.head.started.isoformat() if file.head.started else ""
        day = started[:10] or datetime.fromtimestamp(path.stat().st_mtime).date().isoformat()  # noqa: DTZ006 - the user's day
        first, last = file.span_s()
        with self._change() as base:
            machine = _one(base, "machine", name=about.machine, serial=about.serial)
            customer = _one(base, "customer", name=about.customer) if about.customer else None
            job = self._job(base, about.job or f"{day}", machine, customer, day, about)
            base.execute(
                "INSERT INTO trace (job, path, journal_id, started, seconds, simulated)"
                " VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (path) DO UPDATE SET job = excluded.job,"
                " journal_id = excluded.journal_id, started = excluded.started,"
                " seconds = excluded.seconds, simulated = excluded.simulated",
                (job, str(path.resolve()), file.annexe.journal_id, started, last - first,
                 int(file.head.simulated)),
            )  # fmt: skip
            if about.hour_meter_h is not None:
                self._read_meter(base, machine, about.hour_meter_h, started or day)
            for place in file.places:
                _know(base, place.channel)
            self._index(base, job)
        return job

    def search(self, text: str, limit: int = 50) -> tuple[JobRow, ...]:
        """Jobs in which every word of `text` begins a word, the newest first; all for no text.

        Looked at: job, machine, serial, customer, site, technician, notes, names of traces.
        """
        words = " ".join(f'"{word}"*' for word in _WORD.findall(text))
        if not words:
            found = self._ask(f"{_JOBS} ORDER BY opened_on DESC, job.id DESC LIMIT ?", limit)
        else:
            found = self._ask(_JOBS + _FOUND, words, limit)
        return tuple(_job_row(row) for row in found)

    def job(self, number: int) -> JobRow:
        """One job with its traces."""
        found = self._ask(f"{_JOBS} WHERE job.id = ?", number)
        if not found:
            raise BookError(f"The book has no job number {number}.")
        traces = self._ask(
            "SELECT path, started, seconds, simulated FROM trace WHERE job = ? ORDER BY started",
            number,
        )
        return _job_row(
            found[0],
            tuple(
                TraceRow(Path(t["path"]), t["started"], t["seconds"], bool(t["simulated"]))
                for t in traces
            ),
        )

    def read_meter(
        self, machine: str, serial: str, hours: float, read_on: str, *, replaced: bool = False
    ) -> None:
        """Note an hour meter's reading. A lower one than before is a new meter or a slip of the
        pen: it is refused unless `replaced` says which.
        """
        last = self.meter(machine, serial)
        if last and hours < last[-1].hours and not replaced and read_on > last[-1].read_on:
            raise BookError(
                f"The hour meter of {machine} {serial} stood at {last[-1].hours:g} h on "
                f"{last[-1].read_on[:10]} and cannot stand at {hours:g} h now; say that the meter "
                "was replaced, or correct the reading."
            )
        with self._change() as base:
            number = _one(base, "machine", name=machine, serial=serial)
            self._read_meter(base, number, hours, read_on, replaced=replaced)

    def meter(self, machine: str, serial: str) -> tuple[MeterReading, ...]:
        """All readings of a machine's hour meters, in order of time, with its hours in total."""
        rows = self._ask(
            "SELECT read_on, hours, replaced FROM meter_reading JOIN machine"
            " ON machine.id = meter_reading.machine WHERE name = ? AND serial = ?"
            " ORDER BY read_on, hours",
            machine,
            serial,
        )
        found: list[MeterReading] = []
        before, last = 0.0, None
        for row in rows:
            hours, replaced = float(row["hours"]), bool(row["replaced"])
            lower = last is not None and hours < last
            if last is not None and replaced:
                before += last
            questioned = lower and not replaced
            total = before + hours
            found.append(MeterReading(row["read_on"], hours, replaced, questioned, total))
            if not questioned:
                last = hours
        return tuple(found)

    def check_zero(self, serial: str, zero_pa: float, checked_at: str, note: str = "") -> None:
        """Note what a transducer reads with no pressure on it."""
        with self._change() as base:
            base.execute(
                "INSERT INTO transducer (serial, calibrated_on) VALUES (?, '')"
                " ON CONFLICT DO NOTHING",
                (serial,),
            )
            base.execute(
                "INSERT INTO zero_check (serial, checked_at, zero_pa, note) VALUES (?, ?, ?, ?)"
                " ON CONFLICT DO UPDATE SET zero_pa = excluded.zero_pa, note = excluded.note",
                (serial, checked_at, zero_pa, note),
            )

    def zero_checks(self, serial: str) -> tuple[ZeroCheck, ...]:
        """A transducer's zeros over time."""
        rows = self._ask(
            "SELECT checked_at, zero_pa, note FROM zero_check WHERE serial = ? ORDER BY checked_at",
            serial,
        )
        return tuple(ZeroCheck(r["checked_at"], r["zero_pa"], r["note"]) for r in rows)

    def rebuild(
        self, folder: Path, progress: Callable[[float], bool] = lambda _share: True
    ) -> Rebuilt:
        """Make jobs and traces anew from all trace files in a folder and below it.

        Zero checks and readings noted by hand stay. progress: told the share done, answers whether
        to go on; where not, what was read so far stays out and the book is as it was.
        """
        files = sorted(p for p in folder.rglob("*.h5") if not p.name.startswith("."))
        left_out: list[str] = []
        with self._change() as base:
            for table in ("trace", "job", "job_search"):
                base.execute(f"DELETE FROM {table}")  # noqa: S608 - names of our own
            for number, path in enumerate(files):
                if not progress(number / len(files)):
                    raise BookError("Making the book anew was stopped; it is as it was.")
                try:
                    self.add_trace(path)
                except TraceError as fault:
                    left_out.append(str(fault))
        progress(1.0)
        traces, jobs = (
            int(self._ask(f"SELECT COUNT(*) FROM {t}")[0][0])  # noqa: S608
            for t in ("trace", "job")
        )
        return Rebuilt(traces, jobs, tuple(left_out))

    @contextmanager
    def _change(self) -> Iterator[sqlite3.Connection]:
        """All of it or nothing; within another change, part of that."""
        if self._is_changing():
            yield self._base
            return
        try:
            self._base.execute("BEGIN IMMEDIATE")
            yield self._base
            self._base.execute("COMMIT")
        except sqlite3.Error as fault:
            raise BookError(f"The job book {self.path} cannot be changed: {fault}.") from fault
        finally:
            if self._is_changing():
                self._base.execute("ROLLBACK")

    def _is_changing(self) -> bool:
        return self._base.in_transaction

    def _ask(self, question: str, *values: Any) -> list[sqlite3.Row]:
        try:
            return self._base.execute(question, values).fetchall()
        except sqlite3.Error as fault:
            raise BookError(f"The job book {self.path} cannot be read: {fault}.") from fault

    @staticmethod
    def _job(
        base: sqlite3.Connection,
        name: str,
        machine: int,
        customer: int | None,
        day: str,
        about: Particulars,
    ) -> int:
        base.execute(
            "INSERT INTO job (number, machine, customer, site, technician, opened_on, notes)"
            " VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO UPDATE SET"
            " opened_on = MIN(opened_on, excluded.opened_on),"
            " customer = COALESCE(excluded.customer, customer),"
            " site = CASE excluded.site WHEN '' THEN site ELSE excluded.site END",
            (name, machine, customer, about.site, about.technician, day, about.notes),
        )
        row = base.execute(
            "SELECT id FROM job WHERE number = ? AND machine = ?", (name, machine)
        ).fetchone()
        return int(row[0])

    @staticmethod
    def _read_meter(
        base: sqlite3.Connection,
        machine: int,
        hours: float,
        read_on: str,
        *,
        replaced: bool = False,
    ) -> None:
        base.execute(
            "INSERT INTO meter_reading (machine, read_on, hours, replaced) VALUES (?, ?, ?, ?)"
            " ON CONFLICT DO UPDATE SET replaced = MAX(replaced, excluded.replaced)",
            (machine, read_on, hours, int(replaced)),
        )

    def _index(self, base: sqlite3.Connection, job: int) -> None:
        row = self.job(job)
        names = [os.path.splitext(t.path.name)[0] for t in row.traces]  # noqa: PTH122
        words = " ".join(
            (row.job, row.machine, row.serial, row.customer, row.site, row.technician, row.notes,
             *names)
        )  # fmt: skip
        base.execute("DELETE FROM job_search WHERE rowid = ?", (job,))
        base.execute("INSERT INTO job_search (rowid, words) VALUES (?, ?)", (job, words))


def _one(base: sqlite3.Connection, table: str, **values: str) -> int:
    """The id of the row with these values, made where there is none."""
    names, marks = ", ".join(values), ", ".join("?" * len(values))
    same = " AND ".join(f"{name} = ?" for name in values)
    given = tuple(values.values())
    base.execute(f"INSERT INTO {table} ({names}) VALUES ({marks}) ON CONFLICT DO NOTHING", given)  # noqa: S608
    row = base.execute(f"SELECT id FROM {table} WHERE {same}", given).fetchone()  # noqa: S608
    return int(row[0])


def _know(base: sqlite3.Connection, channel: Channel) -> None:
    """Note a pressure transducer that a trace was recorded with."""
    tested = channel.transducer
    if not tested.serial or channel.dimension is not Dimension.PRESSURE:
        return
    day = tested.calibrated_on.isoformat() if tested.calibrated_on else ""
    base.execute(
        "INSERT INTO transducer (serial, calibrated_on, range_pa, accuracy_pct_fs)"
        " VALUES (?, ?, ?, ?) ON CONFLICT DO UPDATE SET"
        " calibrated_on = MAX(calibrated_on, excluded.calibrated_on)",
        (tested.serial, day, channel.chain.range_high, tested.accuracy_pct_fs),
    )


def _job_row(row: sqlite3.Row, traces: tuple[TraceRow, ...] = ()) -> JobRow:
    return JobRow(
        row["id"], row["number"], row["machine"], row["serial"], row["customer"], row["site"],
        row["technician"], row["opened_on"], row["notes"], traces,
    )  # fmt: skip
