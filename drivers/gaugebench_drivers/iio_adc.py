"""Driver `iio-adc`: a converter that the Linux kernel exposes through Industrial I/O."""

from __future__ import annotations

import math
import os
import select
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

import numpy as np
from pydantic import Field

from gaugebench.driver import Batch, Clock, Driver, DriverOptions, Input, Reading, Source, Stream
from gaugebench.errors import SourceError, SourceLost
from gaugebench.model.arrays import F64
from gaugebench.wire.iio import KINDS, Element, ScanLayout, element

STAMP = "timestamp"
BULK_SCANS = 4096


class IioOptions(DriverOptions):
    """Options of `iio-adc`. The kit's inputs are called as the kernel calls its channels."""

    device: str = Field(
        min_length=1,
        description="the converter's name, as the kernel lists it, or iio:device0 and so on",
    )
    rate_hz: float | None = Field(None, gt=0, le=1e6, description="scans a second to ask for")
    buffer_scans: int = Field(
        1024, ge=2, le=1_000_000, description="how many scans the kernel holds for us"
    )
    sysfs: Path = Field(
        Path("/sys/bus/iio/devices"), description="where the kernel lists its converters"
    )
    dev: Path = Field(Path("/dev"), description="where the kernel's device files are")


class IioSource(Source):
    """A converter whose buffer runs."""

    def __init__(self, options: IioOptions, inputs: Sequence[Input], clock: Clock) -> None:
        self._clock = clock
        self._folder = _folder(options)
        self._file = -1
        self._held = b""
        self._names = [i.name for i in inputs]
        self._factors = [_to_unit(self._folder, name) for name in self._names]
        self._buffer = self._folder / "buffer"
        try:
            self._layout = self._set_up(options)
            self._file = os.open(options.dev / self._folder.name, os.O_RDONLY | os.O_NONBLOCK)
            (self._buffer / "enable").write_text("1\n", encoding="ascii")
        except (OSError, ValueError) as fault:
            self.close()
            raise SourceError(
                f"The converter {options.device} cannot be set going: {fault}; "
                "its channels may be in use, or need a trigger."
            ) from fault
        has_stamp = any(e.name == STAMP for e in self._layout.elements)
        units = [KINDS[_kind(name)][0] for name in self._names]
        self._streams = (
            Stream(
                "scans",
                tuple(Input(n, u) for n, u in zip(self._names, units, strict=True)),
                options.rate_hz,
                math.inf if has_stamp else None,
            ),
        )

    @property
    def streams(self) -> tuple[Stream, ...]:
        """One stream: a scan reads all channels."""
        return self._streams

    def read(self, timeout_s: float) -> Reading:
        """The scans that arrived; see `Source.read`."""
        try:
            ready, _, _ = select.select([self._file], [], [], max(0.0, timeout_s))
            data = os.read(self._file, BULK_SCANS * self._layout.size) if ready else b""
        except BlockingIOError:
            return Reading()
        except (OSError, ValueError) as fault:
            raise SourceLost(f"The converter {self._folder.name} went away: {fault}.") from fault
        if ready and not data:
            raise SourceLost(f"The converter {self._folder.name} went away: its buffer ended.")
        now = self._clock.now()
        data = self._held + data
        whole = len(data) // self._layout.size * self._layout.size
        self._held = data[whole:]
        if not whole:
            return Reading()
        found = self._layout.decode(data[:whole])
        raw = np.column_stack(
            [
                (found[name] + offset) * scale
                for name, (offset, scale) in zip(self._names, self._factors, strict=True)
            ]
        )
        stamp: F64 | None = found[STAMP] * 1e-9 if STAMP in found else None
        return Reading([Batch(0, raw, np.full(len(raw), now), stamp)])

    def close(self) -> Reading:
        """Stop the buffer and let go of the device."""
        with suppress(OSError):  # it may be gone, which is what was asked for
            (self._buffer / "enable").write_text("0\n", encoding="ascii")
        if self._file >= 0:
            os.close(self._file)
            self._file = -1
        return Reading()

    def _set_up(self, options: IioOptions) -> ScanLayout:
        scan = self._folder / "scan_elements"
        if not scan.is_dir():
            raise ValueError("it has no buffer")
        (self._buffer / "enable").write_text("0\n", encoding="ascii")
        wanted: list[Element] = []
        for switch in sorted(scan.glob("in_*_en")):
            name = switch.name.removeprefix("in_").removesuffix("_en")
            is_wanted = name in self._names or name == STAMP
            switch.write_text(f"{int(is_wanted)}\n", encoding="ascii")
            if is_wanted:
                index = int((scan / f"in_{name}_index").read_text(encoding="ascii"))
                form = (scan / f"in_{name}_type").read_text(encoding="ascii")
                wanted.append(element(name, index, form))
        if options.rate_hz is not None:
            rate = self._folder / "sampling_frequency"
            if rate.exists():
                rate.write_text(f"{options.rate_hz:g}\n", encoding="ascii")
        (self._buffer / "length").write_text(f"{options.buffer_scans}\n", encoding="ascii")
        return ScanLayout(wanted)


def _folder(options: IioOptions) -> Path:
    """The converter's folder. Raises `SourceError`."""
    names = {}
    for folder in sorted(options.sysfs.glob("iio:device*")):
        with suppress(OSError):  # it went away while we looked
            names[folder] = (folder / "name").read_text(encoding="utf-8", errors="replace").strip()
    found = [f for f, name in names.items() if options.device in (name, f.name)]
    if not found:
        known = ", ".join(f"{name} ({f.name})" for f, name in names.items()) or "none"
        raise SourceError(f"The kernel has no converter “{options.device}”; it has {known}.")
    if len(found) > 1:
        alike = ", ".join(f.name for f in found)
        raise SourceError(
            f"Several converters are called “{options.device}”: write one of {alike}."
        )
    return found[0]


def _kind(name: str) -> str:
    """`voltage0-voltage1` is a voltage."""
    return name.split("-")[0].rstrip("0123456789")


def _to_unit(folder: Path, name: str) -> tuple[float, float]:
    """offset and scale: value = (raw + offset) * scale in the unit of its kind."""
    kind = _kind(name)
    if kind not in KINDS or not (folder / "scan_elements" / f"in_{name}_en").exists():
        known = sorted(
            p.name.removeprefix("in_").removesuffix("_en")
            for p in (folder / "scan_elements").glob("in_*_en")
            if p.name != f"in_{STAMP}_en"
        )
        raise SourceError(
            f"The converter has no channel “{name}”; it has {', '.join(known) or 'none'}."
        )
    factor = KINDS[kind][1]
    return _number(folder, name, kind, "offset", 0.0), factor * _number(
        folder, name, kind, "scale", 1.0
    )


def _number(folder: Path, name: str, kind: str, what: str, default: float) -> float:
    for path in (folder / f"in_{name}_{what}", folder / f"in_{kind}_{what}"):
        if path.exists():
            try:
                return float(path.read_text(encoding="ascii"))
            except (OSError, ValueError) as fault:
                raise SourceError(f"{path} cannot be read: {fault}.") from fault
    return default


class IioAdc(Driver[IioOptions]):
    """The kernel's converters."""

    name = "iio-adc"
    summary = "converters on this computer that the Linux kernel exposes through Industrial I/O"
    options = IioOptions

    def open(self, options: IioOptions, inputs: Sequence[Input], clock: Clock) -> Source:
        """Set the converter going. Raises `SourceError`."""
        return IioSource(options, inputs, clock)


DRIVER = IioAdc()
