"""The bytes of a text file: gzipped or not, in whatever encoding, as blocks of UTF-8 lines."""

from __future__ import annotations

import codecs
import gzip
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from gaugebench.errors import TraceError

SAMPLE_BYTES = 1 << 18
BLOCK_BYTES = 8 << 20
LONGEST_LINE = 16 << 20
_GZIP = b"\x1f\x8b"
MOST_UNPACKED = 256 << 20
LARGEST_RATIO = 500
"""A gzip that unpacks to more than both is no log: rows of numbers give 5 to 50, a dead channel's
thousand equal rows a second 400, and the most that gzip can do is about 1030.
"""
_SHEET = "save its sheet as CSV and open that"
_UNPACK = "unpack it and open what was in it"
_NO_TEXT = {
    b"PK\x03\x04": ("a spreadsheet or an archive", _SHEET),
    b"\xd0\xcf\x11\xe0": ("an old spreadsheet", _SHEET),
    b"PAR1": ("a Parquet file", _SHEET),
    _GZIP: ("packed more than once", _UNPACK),
    b"BZh": ("packed by bzip2", _UNPACK),
    b"\xfd7zXZ\0": ("packed by xz", _UNPACK),
    b"\x28\xb5\x2f\xfd": ("packed by zstd", _UNPACK),
    b"7z\xbc\xaf": ("a 7z archive", _UNPACK),
    b"Rar!": ("a RAR archive", _UNPACK),
}
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


@dataclass(slots=True)
class Ending:
    """How the file ended. unread: bytes after the last whole row, in the file's own encoding.

    tail: the text of a last line without a line end, judged by the caller.
    """

    nul_bytes: int = 0
    tail: bytes = b""
    cut: bool = False


@dataclass(slots=True)
class TextSource:
    """A text file. Raises `TraceError` where it cannot be read."""

    path: Path
    encoding: str = ""
    size: int = 0
    ending: Ending = field(default_factory=Ending)
    read_bytes: int = 0

    def __post_init__(self) -> None:
        try:
            self.size = self.path.stat().st_size
            with self._open() as (file, _):
                begins = _read(file, SAMPLE_BYTES, self.path)
        except OSError as fault:
            raise TraceError(f"{self.path} cannot be opened: {fault.strerror}.") from fault
        for mark, (what, advice) in _NO_TEXT.items():
            if begins.startswith(mark):
                raise TraceError(f"{self.path} is {what}; {advice}.")
        if not begins.strip(b"\0 \t\r\n"):
            raise TraceError(f"{self.path} holds no text.")
        if not self.encoding:
            self.encoding = encoding_of(begins)
        _check_encoding(self.encoding)

    def sample(self) -> str:
        """The first lines, whole ones where there are several."""
        with self._open() as (file, _):
            begins = _read(file, SAMPLE_BYTES, self.path)
        text = codecs.getincrementaldecoder(self.encoding)("replace").decode(begins)
        text = text.replace("\r\n", "\n").replace("\r", "\n")
        cut = text.rfind("\n")
        return text[: cut + 1] if len(begins) == SAMPLE_BYTES and cut > 0 else text

    def blocks(self, skip_lines: int) -> Iterator[bytes]:
        """Whole lines as UTF-8 with line feeds, after the first `skip_lines`.

        `read_bytes` follows along; `ending` is complete when this ends.
        """
        self.ending = Ending()
        decoder = codecs.getincrementaldecoder(self.encoding)("replace")
        plain = self.encoding in {"utf-8", "utf-8-sig", "ascii"}
        rest = b""
        first = True
        unpacked = 0
        with self._open() as (file, inner):
            while True:
                got = _read(file, BLOCK_BYTES, self.path, self.ending)
                self.read_bytes = inner.tell()
                unpacked += len(got)
                if unpacked > max(MOST_UNPACKED, LARGEST_RATIO * self.read_bytes):
                    raise TraceError(
                        f"{self.path} unpacks to over {LARGEST_RATIO} times its size, which no "
                        "log does; unpack it and look at it before opening it."
                    )
                if plain:
                    piece = got.removeprefix(codecs.BOM_UTF8) if first else got
                else:
                    piece = decoder.decode(got, final=not got).encode("utf-8")
                first = False
                if not got:
                    break
                if b"\r" in piece or rest.endswith(b"\r"):
                    piece, rest = _line_feeds(rest + piece), b""
                data = rest + piece
                cut = data.rfind(b"\n") + 1
                if not cut and len(data) > LONGEST_LINE:
                    raise TraceError(f"{self.path} has a line too long for a table of numbers.")
                whole, rest = data[:cut], data[cut:]
                while skip_lines and whole:
                    line = whole.find(b"\n") + 1
                    whole, skip_lines = whole[line:], skip_lines - 1
                if whole:
                    yield whole
        self._close(rest.rstrip(b"\r"))

    def _close(self, rest: bytes) -> None:
        tail = rest.rstrip(b"\0")
        self.ending.nul_bytes = len(rest) - len(tail)
        self.ending.tail = tail

    @contextmanager
    def _open(self) -> Iterator[tuple[IO[bytes], IO[bytes]]]:
        with self.path.open("rb") as raw:
            zipped = raw.read(2) == _GZIP
            raw.seek(0)
            if not zipped:
                yield raw, raw
                return
            with gzip.GzipFile(fileobj=raw) as file:
                yield file, raw  # type: ignore[misc]


def encoding_of(begins: bytes) -> str:
    """The encoding: by its mark; UTF-16 by its NULs; UTF-8 where it is; else Windows-1252."""
    for mark, name in _MARKS:
        if begins.startswith(mark):
            return name
    head = begins[:64]  # the NULs that a power cut leaves come at the end
    odd, even = head[1::2].count(0), head[::2].count(0)
    if odd > 0.4 * len(head) / 2 and not even:
        return "utf-16-le"
    if even > 0.4 * len(head) / 2 and not odd:
        return "utf-16-be"
    try:
        codecs.getincrementaldecoder("utf-8")().decode(begins)
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def bytes_in(text: str, encoding: str) -> int:
    """How many bytes a text takes in a file of that encoding."""
    plain = {"utf-8-sig": "utf-8", "utf-16": "utf-16-le", "utf-32": "utf-32-le"}
    return len(text.encode(plain.get(encoding, encoding), "replace"))


def _check_encoding(name: str) -> None:
    try:
        codecs.lookup(name)
    except LookupError as fault:
        raise TraceError(f"“{name}” is not an encoding; write for example utf-8.") from fault


def _line_feeds(data: bytes) -> bytes:
    """CR LF and CR as LF; a CR at the very end waits for what follows."""
    held = data.endswith(b"\r")
    body = data[:-1] if held else data
    return body.replace(b"\r\n", b"\n").replace(b"\r", b"\n") + (b"\r" if held else b"")


def _read(file: IO[bytes], size: int, path: Path, ending: Ending | None = None) -> bytes:
    """Up to `size` bytes; a gzip that is cut short ends where it is cut."""
    pieces: list[bytes] = []
    left = size
    try:
        # Piece by piece: one large read of a gzip that is cut short gives an error and no bytes.
        while left and (piece := file.read1(left)):  # type: ignore[attr-defined]
            pieces.append(piece)
            left -= len(piece)
    except EOFError:
        if ending is not None:
            ending.cut = True
    except (OSError, zlib.error) as fault:
        raise TraceError(f"{path} cannot be read: {fault}.") from fault
    return b"".join(pieces)
