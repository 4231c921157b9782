"""The book's file: its tables, its check at the start, its backup."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from gaugebench.errors import BookError

SCHEMA = 1
_TABLES = """
CREATE TABLE customer (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE);
CREATE TABLE machine (
    id INTEGER PRIMARY KEY, name TEXT NOT NULL, serial TEXT NOT NULL, UNIQUE (name, serial));
CREATE TABLE meter_reading (
    id INTEGER PRIMARY KEY, machine INTEGER NOT NULL REFERENCES machine, read_on TEXT NOT NULL,
    hours REAL NOT NULL, replaced INTEGER NOT NULL DEFAULT 0,
    UNIQUE (machine, read_on, hours));
CREATE TABLE job (
    id INTEGER PRIMARY KEY, number TEXT NOT NULL, machine INTEGER NOT NULL REFERENCES machine,
    customer INTEGER REFERENCES customer, site TEXT NOT NULL, technician TEXT NOT NULL,
    opened_on TEXT NOT NULL, notes TEXT NOT NULL, UNIQUE (number, machine));
CREATE TABLE trace (
    id INTEGER PRIMARY KEY, job INTEGER NOT NULL REFERENCES job, path TEXT NOT NULL UNIQUE,
    journal_id TEXT NOT NULL, started TEXT NOT NULL, seconds REAL NOT NULL,
    simulated INTEGER NOT NULL);
CREATE TABLE transducer (
    serial TEXT PRIMARY KEY, calibrated_on TEXT NOT NULL, range_pa REAL, accuracy_pct_fs REAL);
CREATE TABLE zero_check (
    id INTEGER PRIMARY KEY, serial TEXT NOT NULL REFERENCES transducer, checked_at TEXT NOT NULL,
    zero_pa REAL NOT NULL, note TEXT NOT NULL, UNIQUE (serial, checked_at));
CREATE INDEX trace_job ON trace (job);
CREATE INDEX job_machine ON job (machine);
CREATE VIRTUAL TABLE job_search USING fts5 (words, tokenize = "unicode61 remove_diacritics 2");
"""


def opened(path: Path) -> tuple[sqlite3.Connection, str | None]:
    """The checked connection, and what had to be done about damage, one sentence, or None.

    A damaged book is moved aside and its last backup takes its place; without one the book begins
    empty. Raises `BookError`.
    """
    told: str | None = None
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if path.exists() and not _is_whole(path):
            told = _put_right(path)
        connection = sqlite3.connect(path, timeout=5.0, isolation_level=None)
        _prepare(connection, path)
    except (sqlite3.Error, OSError) as fault:
        raise BookError(
            f"The job book {path} cannot be opened: {fault}; choose another folder for it, or make "
            "it anew with “gaugebench book rebuild”."
        ) from fault
    return connection, told


def back_up(connection: sqlite3.Connection, path: Path) -> None:
    """Write the book's backup beside it, whole or not at all. Raises `sqlite3.Error`, `OSError`."""
    part = backup_of(path).with_suffix(".part")
    part.unlink(missing_ok=True)
    with closing(sqlite3.connect(part)) as copy:
        connection.backup(copy)
    part.replace(backup_of(path))


def backup_of(path: Path) -> Path:
    """Where a book's backup is."""
    return path.with_name(path.stem + ".backup" + path.suffix)


def _prepare(connection: sqlite3.Connection, path: Path) -> None:
    connection.row_factory = sqlite3.Row
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")
    version = int(connection.execute("PRAGMA user_version").fetchone()[0])
    if version > SCHEMA:
        connection.close()
        raise BookError(f"The job book {path} was made by a newer version of the program.")
    if version == 0:
        connection.executescript(f"BEGIN; {_TABLES} PRAGMA user_version = {SCHEMA}; COMMIT;")


def _is_whole(path: Path) -> bool:
    try:
        with closing(sqlite3.connect(path, timeout=5.0)) as connection:
            found = connection.execute("PRAGMA integrity_check(1)").fetchone()
    except sqlite3.DatabaseError as fault:
        if isinstance(fault, sqlite3.OperationalError) and "locked" in str(fault):
            raise
        return False
    return bool(found[0] == "ok")


def _put_right(path: Path) -> str:
    stamp = datetime.now(UTC).strftime("%Y%m%d-%H%M%S")
    aside = path.with_name(f"{path.stem}.damaged-{stamp}{path.suffix}")
    path.replace(aside)
    backup = backup_of(path)
    if backup.exists() and _is_whole(backup):
        shutil.copyfile(backup, path)
        made = datetime.fromtimestamp(backup.stat().st_mtime).astimezone()
        return (
            f"The job book was damaged and its backup of {made:%Y-%m-%d %H:%M} took its place; the "
            f"damaged file is {aside.name}."
        )
    return (
        f"The job book was damaged and begins anew, as there is no whole backup; the damaged file "
        f"is {aside.name}. Make it again from your traces with “gaugebench book rebuild”."
    )
