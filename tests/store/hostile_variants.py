"""Ways to make a hostile trace file out of a whole one, each with valid checksums throughout.

Every function is given the open file and changes it; `VARIANTS` names them. Their docstrings say
what each is after.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from typing import Any

import h5py
import numpy as np

VALUES = "entry/kit_pressure_gauge/pump1.main"
TIMES = "entry/streams/kit/time"
_CHUNK = 16_384
Filters = Callable[[Any], None]


def _deflated(megabytes: int) -> bytes:
    """Zeros, packed a thousand to one: one piece over and over, as RFC 1950 and 1951 allow it."""
    packing = zlib.compressobj(9)
    begin = packing.compress(bytes(1 << 20)) + packing.flush(zlib.Z_FULL_FLUSH)
    again = packing.compress(bytes(1 << 20)) + packing.flush(zlib.Z_FULL_FLUSH)
    # Behind an empty last block stands the Adler-32 of zeros: their number modulo 65521, and 1.
    end = b"\x03\0" + ((megabytes << 20) % 65521 << 16 | 1).to_bytes(4, "big")
    return begin + again * (megabytes - 1) + end


def _stored(file: h5py.File, name: str, stored: bytes, filters: Filters, rows: int = 2000) -> None:
    """A dataset of float64 in one chunk, whose stored bytes are given."""
    del file[name]
    made = h5py.h5p.create(h5py.h5p.DATASET_CREATE)
    made.set_chunk((_CHUNK,))
    filters(made)
    space = h5py.h5s.create_simple((rows,), (h5py.h5s.UNLIMITED,))
    found = h5py.h5d.create(file["/"].id, name.encode(), h5py.h5t.IEEE_F64LE, space, made)
    for first in range(0, rows, _CHUNK):
        found.write_direct_chunk((first,), stored)


def _with(file: h5py.File, name: str, data: Any, **how: Any) -> None:
    del file[name]
    file.create_dataset(name, data=data, **how)


def _repeated(file: h5py.File, name: str, times: int) -> None:
    rows = np.repeat(file[name][:], times)
    _with(file, name, rows, compression="gzip", fletcher32=True)


def _column(file: h5py.File, table: str, column: str, kind: Any, value: Any) -> None:
    """A table with a column of another kind, or one more."""
    old = file[table][:]
    fields = {n: old.dtype[n] for n in old.dtype.names} | {column: kind}
    new = np.zeros(len(old), np.dtype(list(fields.items())))
    for name in old.dtype.names:
        if name != column:
            new[name] = old[name]
    if value is not None:
        new[column] = value
    _with(file, table, new)


def chunk_of_a_gigabyte(file: h5py.File) -> None:
    """A chunk that unpacks to far more than its size, in 1 MB."""
    _stored(file, VALUES, _deflated(1000), lambda made: made.set_deflate(1))


def chunk_of_a_bit_more(file: h5py.File) -> None:
    """A chunk as short as an honest one that unpacks to 100 MB."""
    _stored(file, VALUES, _deflated(100), lambda made: made.set_deflate(1))


def packed_twice(file: h5py.File) -> None:
    """Two deflates one behind the other: gigabytes in a hundred bytes."""

    def twice(made: Any) -> None:
        made.set_deflate(1)
        made.set_deflate(1)

    _stored(file, VALUES, zlib.compress(_deflated(2000), 9), twice)


def filter_of_another_kind(file: h5py.File) -> None:
    """A filter that trace files do not use."""
    _with(file, "entry/streams/kit/quality/pump1.main", np.zeros(2000, np.uint16), scaleoffset=0)


def shuffle_of_another_size(file: h5py.File) -> None:
    """Bytes shuffled twice."""

    def twice(made: Any) -> None:
        made.set_shuffle()
        made.set_shuffle()
        made.set_deflate(1)

    _stored(file, VALUES, zlib.compress(bytes(8 * _CHUNK)), twice)


def checksum_left_out(file: h5py.File) -> None:
    """A chunk that says its checksum was not made."""
    name = VALUES
    del file[name]
    made = file.create_dataset(name, (2000,), "f8", chunks=(2000,), fletcher32=True)
    made.id.write_direct_chunk((0,), bytes(16_000), filter_mask=1)


def tiny_chunks(file: h5py.File) -> None:
    """A row a chunk."""
    _with(file, VALUES, np.zeros(2000), chunks=(1,), compression="gzip", fletcher32=True)


def huge_chunk(file: h5py.File) -> None:
    """A chunk that is declared a gigabyte large."""
    del file[VALUES]
    file.create_dataset(VALUES, (2000,), "f8", chunks=(1 << 27,), maxshape=(None,))


def nothing_behind_it(file: h5py.File) -> None:
    """Rows without a chunk."""
    del file[VALUES]
    file.create_dataset(
        VALUES, (2000,), "f8", maxshape=(None,), chunks=(_CHUNK,), compression="gzip"
    )


def rows_without_end(file: h5py.File) -> None:
    """A million hours of samples, none of them there."""
    for name in (VALUES, TIMES):
        file[name].resize((1 << 40,))


def sparse_terabyte(file: h5py.File) -> None:
    """A block without filters, terabytes long, as a hole in the file."""
    del file[VALUES]
    made = h5py.h5p.create(h5py.h5p.DATASET_CREATE)
    made.set_layout(h5py.h5d.CONTIGUOUS)
    made.set_alloc_time(h5py.h5d.ALLOC_TIME_EARLY)
    made.set_fill_time(h5py.h5d.FILL_TIME_NEVER)
    space = h5py.h5s.create_simple((1 << 38,))
    h5py.h5d.create(file["/"].id, VALUES.encode(), h5py.h5t.IEEE_F64LE, space, made)


def sixty_million_marks(file: h5py.File) -> None:
    """A table of very many short rows, packed."""
    del file["entry/marks"]
    made = file.create_dataset(
        "entry/marks", (60 << 20,), [("key", "S1")], chunks=(1 << 20,), compression="gzip"
    )
    packed = zlib.compress(bytes(1 << 20), 9)
    for first in range(0, 60 << 20, 1 << 20):
        made.id.write_direct_chunk((first,), packed)


def more_rows_than_are_read(file: h5py.File) -> None:
    """A table of one row too many, all of it there."""
    _with(file, "entry/remarks", np.zeros((1 << 20) + 1, [("text", "S1")]), fletcher32=True)


def million_gaps(file: h5py.File) -> None:
    """Rows of a packed table: tables are not packed."""
    file["entry/gaps"][:]
    _repeated(file, "entry/gaps", 500_000)


def channels_without_end(file: h5py.File) -> None:
    """Very many channels in one place."""
    _repeated(file, "entry/channels", 20_000)


def streams_without_end(file: h5py.File) -> None:
    """Very many streams of one name."""
    _repeated(file, "entry/streams_table", 200_000)


def one_place_for_two(file: h5py.File) -> None:
    """Two channels with the same samples."""
    rows = file["entry/channels"][:]
    _with(file, "entry/channels", np.concatenate([rows, rows[:1]]), fletcher32=True)


def one_stream_twice(file: h5py.File) -> None:
    """Two streams of one name."""
    rows = file["entry/streams_table"][:]
    _with(file, "entry/streams_table", np.concatenate([rows, rows[:1]]), fletcher32=True)


def more_channels_than_are_read(file: h5py.File) -> None:
    """A table of channels as long as it is allowed to be, and one more."""
    rows = np.repeat(file["entry/channels"][:1], 4097)
    _with(file, "entry/channels", rows, fletcher32=True)


def path_round_and_round(file: h5py.File) -> None:
    """A group inside itself, and a path that goes round in it a million times."""
    file["entry/a"] = file["entry"]
    _column(file, "entry/channels", "group", "S2000020", b"a/" * 1_000_000 + b"engine_speed")


def path_upwards(file: h5py.File) -> None:
    """The file's root for a group of samples."""
    rows = file["entry/channels"][:]
    rows["group"] = b"/"
    file["entry/channels"][:] = rows


def path_of_dots(file: h5py.File) -> None:
    """A name that means the group itself."""
    rows = file["entry/channels"][:]
    rows["dataset"] = b"."
    file["entry/channels"][:] = rows


def curve_without_end(file: h5py.File) -> None:
    """A calibration curve of very many coefficients, each of which costs time for every sample."""
    _column(file, "entry/channels", "curve", "S40000", b"1 " * 20_000)


def text_without_end(file: h5py.File) -> None:
    """A text of a gigabyte, packed."""
    del file["entry/origin"]
    made = file.create_dataset("entry/origin", (1,), "S1000000000", chunks=(1,), compression="gzip")
    made.id.write_direct_chunk((0,), _deflated(954))


def text_that_packs_too_well(file: h5py.File) -> None:
    """Figures of 16 MB in a small file."""
    del file["entry/figures_json"]
    data = np.array([b"[" * (16 << 20)])
    file.create_dataset("entry/figures_json", data=data, chunks=(1,), compression="gzip")


def text_of_any_length(file: h5py.File) -> None:
    """A text that lies in a heap."""
    del file["entry/origin"]
    file.create_dataset("entry/origin", data="x" * 1000, dtype=h5py.string_dtype())


def table_of_texts_of_any_length(file: h5py.File) -> None:
    """A further column in a heap, where many rows can share one long text."""
    _column(file, "entry/marks", "more", h5py.string_dtype(), "hello")


def table_of_references(file: h5py.File) -> None:
    """A further column that points elsewhere."""
    _column(file, "entry/marks", "more", h5py.ref_dtype, file["entry"].ref)


def table_with_arrays_in_it(file: h5py.File) -> None:
    """A number that is three."""
    _column(file, "entry/marks", "time_s", np.dtype(("<f8", (3,))), None)


def whole_numbers_with_a_point(file: h5py.File) -> None:
    """A count as a float."""
    _column(file, "entry/gaps", "lost", "<f8", None)


def simulated_of_nothing(file: h5py.File) -> None:
    """A number without a value."""
    _with(file, "entry/simulated", h5py.Empty("i8"))


def times_of_nothing(file: h5py.File) -> None:
    """Samples without a shape."""
    _with(file, TIMES, h5py.Empty("f8"))


def text_of_nothing(file: h5py.File) -> None:
    """A text without a value."""
    _with(file, "entry/origin", h5py.Empty("S5"))


def times_in_half_precision(file: h5py.File) -> None:
    """float16."""
    _with(file, TIMES, np.arange(2000, dtype=np.float16), fletcher32=True)


def times_in_long_precision(file: h5py.File) -> None:
    """long double."""
    _with(file, TIMES, np.arange(2000, dtype=np.longdouble), fletcher32=True)


def times_the_other_way_round(file: h5py.File) -> None:
    """Big-endian."""
    _with(file, TIMES, np.arange(2000, dtype=">f8"), fletcher32=True)


def times_of_two_axes(file: h5py.File) -> None:
    """A table of times."""
    _with(file, TIMES, np.zeros((2000, 2)), fletcher32=True)


def times_as_rows(file: h5py.File) -> None:
    """Times that are rows of a table."""
    _with(file, TIMES, np.zeros(2000, [("a", "f8")]), fletcher32=True)


def group_for_samples(file: h5py.File) -> None:
    """A group where samples should be."""
    del file[VALUES]
    file.create_group(VALUES)


def kind_for_a_group(file: h5py.File) -> None:
    """A named kind of number where a group should be."""
    del file["entry/streams"]
    file["entry/streams"] = np.dtype("f8")


def version_of_many_numbers(file: h5py.File) -> None:
    """A version that is an array."""
    del file.attrs["gaugebench_format"]
    file.attrs["gaugebench_format"] = np.zeros(6000, np.int64)


def version_in_words(file: h5py.File) -> None:
    """A version that is a text of any length."""
    del file.attrs["gaugebench_format"]
    file.attrs.create("gaugebench_format", "one", dtype=h5py.string_dtype())


def start_beyond_the_calendar(file: h5py.File) -> None:
    """A zone that is none."""
    _with(file, "entry/start_time", np.bytes_(b"9999-12-31T23:59:59+99:99"))


def kit_without_bottom(file: h5py.File) -> None:
    """JSON nested as deep as a text is long."""
    _with(file, "entry/kit", np.bytes_(b'{"a":' + b"[" * 25_000 + b"]" * 25_000 + b"}"))


def number_without_end(file: h5py.File) -> None:
    """A number of 50 000 digits."""
    _with(file, "entry/kit", np.bytes_(b'{"a":' + b"9" * 50_000 + b"}"))


_HONEST = zlib.decompress(_deflated(2))
assert bytes(2 << 20) == _HONEST

VARIANTS: tuple[Callable[[h5py.File], None], ...] = (
    chunk_of_a_gigabyte, chunk_of_a_bit_more, packed_twice, filter_of_another_kind,
    shuffle_of_another_size, checksum_left_out, tiny_chunks, huge_chunk, nothing_behind_it,
    rows_without_end, sparse_terabyte, sixty_million_marks, more_rows_than_are_read,
    million_gaps, channels_without_end,
    streams_without_end, one_place_for_two, one_stream_twice, more_channels_than_are_read,
    path_round_and_round, path_upwards, path_of_dots, curve_without_end, text_without_end,
    text_that_packs_too_well,
    text_of_any_length, table_of_texts_of_any_length, table_of_references,
    table_with_arrays_in_it, whole_numbers_with_a_point, simulated_of_nothing, times_of_nothing,
    text_of_nothing, times_in_half_precision, times_in_long_precision, times_the_other_way_round,
    times_of_two_axes, times_as_rows, group_for_samples, kind_for_a_group,
    version_of_many_numbers, version_in_words, start_beyond_the_calendar, kit_without_bottom,
    number_without_end,
)  # fmt: skip
