"""A whole job in one file: its traces and whatever belongs to it, each with its checksum."""

from __future__ import annotations

import hashlib
import json
import zipfile
import zlib
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path, PurePosixPath
from typing import Any

from gaugebench.errors import BookError
from gaugebench.store.book.book import Book
from gaugebench.store.names import free_name, publish
from gaugebench.store.newfile import part_beside, write_new

SUFFIX = ".gaugebench-job"
FORMAT = 1
_LIST = "job.json"
_PIECE = 1 << 20
_LARGEST_LIST = 16 << 20


def hand_over(book: Book, number: int, target: Path, further: Sequence[Path] = ()) -> Path:
    """Write a job's traces and `further` files (worksheet, report) as one file; the name it got.

    Raises `BookError` where a trace is no longer where the book has it, `RecordError` where the
    file cannot be written.
    """
    job = book.job(number)
    files = [t.path for t in job.traces] + list(further)
    if missing := [f for f in files if not f.is_file()]:
        raise BookError(
            f"{missing[0]} is no longer there; put it back or make the book anew from the folder "
            "where it is now."
        )
    wanted = target if target.suffix == SUFFIX else target.with_name(target.name + SUFFIX)

    def fill(part: Path) -> None:
        names: set[str] = set()
        listed: list[dict[str, Any]] = []
        with zipfile.ZipFile(part, "x", zipfile.ZIP_STORED) as bundle:
            for file in files:
                name = free_name(Path(file.name), taken=lambda p: p.name in names).name
                names.add(name)
                bundle.write(file, name)
                listed.append({"name": name, "size": file.stat().st_size, "sha256": _digest(file)})
            about = {k: v for k, v in asdict(job).items() if k not in {"traces", "number"}}
            told = {"format": FORMAT, "job": about, "files": listed}
            bundle.writestr(_LIST, json.dumps(told, ensure_ascii=False, indent=1))

    return write_new(wanted, fill)


def take_in(book: Book, bundle: Path, folder: Path) -> tuple[int, tuple[Path, ...]]:
    """Unpack a handed-over job into a folder and enter its traces; its number and the files.

    Every file is held against its checksum before it gets its name; a taken name gets a number.
    Raises `BookError`.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with zipfile.ZipFile(bundle) as packed:
            listed = _listed(packed, bundle)
            made = tuple(_unpack(packed, entry, folder, bundle) for entry in listed)
    except (OSError, zipfile.BadZipFile, zlib.error, ValueError, KeyError, TypeError,
            NotImplementedError, EOFError, RuntimeError) as fault:  # fmt: skip
        raise BookError(f"{bundle} is not a whole handed-over job ({fault}).") from fault
    numbers = [book.add_trace(path) for path in made if path.suffix == ".h5"]
    if not numbers:
        raise BookError(f"{bundle} holds no trace.")
    return numbers[0], made


def _listed(packed: zipfile.ZipFile, bundle: Path) -> list[dict[str, Any]]:
    if packed.getinfo(_LIST).file_size > _LARGEST_LIST:
        raise BookError(f"{bundle} has a list that is too long.")
    told = json.loads(packed.read(_LIST))
    if told["format"] > FORMAT:
        raise BookError(f"{bundle} was made by a newer version of the program.")
    files: list[dict[str, Any]] = told["files"]
    for entry in files:
        name = str(entry["name"])
        # A name that leads out of the folder is never unpacked.
        if PurePosixPath(name).name != name or "\\" in name or name.startswith("."):
            raise BookError(f"{bundle} holds a file with the name “{name}”, which is not allowed.")
    # Packed plainly and each once, nothing can unpack to more than the bundle itself is long.
    stored = {str(entry["name"]): packed.getinfo(str(entry["name"])) for entry in files}
    is_plain = all(about.compress_type == zipfile.ZIP_STORED for about in stored.values())
    length = sum(about.file_size for about in stored.values())
    if not is_plain or len(stored) < len(files) or length > bundle.stat().st_size:
        raise BookError(f"{bundle} would unpack to more than it holds, which is not allowed.")
    return files


def _unpack(packed: zipfile.ZipFile, entry: dict[str, Any], folder: Path, bundle: Path) -> Path:
    name, size = str(entry["name"]), int(entry["size"])
    part = part_beside(folder / name)
    try:
        with packed.open(name) as source, part.open("xb") as target:
            left = size
            while left > 0 and (piece := source.read(min(_PIECE, left))):
                target.write(piece)
                left -= len(piece)
            if left or source.read(1):
                raise BookError(f"“{name}” in {bundle} is not as long as it says.")
        if _digest(part) != entry["sha256"]:
            raise BookError(f"“{name}” in {bundle} is damaged: its checksum differs.")
        return publish(part, folder / name)
    finally:
        part.unlink(missing_ok=True)


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
