"""A converter as the Linux kernel shows it: a folder of settings, and a file that scans come from.

After the kernel's Documentation/ABI/testing/sysfs-bus-iio. The driver is told where the folders
are; nothing of the system's own is touched.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from gaugebench.errors import SourceError
from gaugebench.wire.iio import ScanLayout, element

DEVICE = "practice-adc"
_NUMBERED = "iio:device0"


class IioFolder:
    """See `carriers.Carrier`. What is written to it are whole scans with all elements.

    forms: elements in order → how they are written, for example `le:u16/16>>0`. scale: what 1
    means in mV, as text. Raises `SourceError` where the system has no named pipes (Windows).
    """

    def __init__(self, forms: Mapping[str, str], scale: str) -> None:
        if os.name != "posix":
            raise SourceError("This system has no named pipes; use the driver “practice” instead.")
        self._kept = tempfile.TemporaryDirectory(prefix="gaugebench-iio-")
        self.port = self._kept.name
        self._folder = Path(self.port) / "sys" / _NUMBERED
        self._all = ScanLayout([element(n, k, form) for k, (n, form) in enumerate(forms.items())])
        self._wanted = self._all
        self._is_on = False
        files = {"name": DEVICE, "in_voltage_scale": scale, "sampling_frequency": "0",
                 "buffer/enable": "0", "buffer/length": "0"}  # fmt: skip
        for index, (name, form) in enumerate(forms.items()):
            for what, text in (("en", "0"), ("index", str(index)), ("type", form)):
                files[f"scan_elements/in_{name}_{what}"] = text
        for name, text in files.items():
            path = self._folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(f"{text}\n", encoding="ascii")
        pipe = Path(self.port) / "dev" / _NUMBERED
        pipe.parent.mkdir()
        os.mkfifo(pipe)
        # Open for both, so that it neither blocks nor ends while nobody reads.
        self._pipe = os.open(pipe, os.O_RDWR | os.O_NONBLOCK)

    def options(self) -> dict[str, Any]:
        """See `Carrier`."""
        return {"device": DEVICE, "sysfs": f"{self.port}/sys", "dev": f"{self.port}/dev"}

    def write(self, data: bytes) -> int:
        """See `Carrier`. While its buffer is switched off a converter does not convert."""
        if self.is_waiting():
            return 0
        try:
            os.write(self._pipe, self._all.narrowed(data, self._wanted))
        except BlockingIOError:
            return 0
        return len(data)

    def read(self, timeout_s: float) -> bytes:
        """Nothing ever comes this way; see `Carrier`."""
        if timeout_s > 0:
            import time

            time.sleep(timeout_s)
        return b""

    def is_waiting(self) -> bool:
        """See `Carrier`."""
        was_on, self._is_on = self._is_on, self._says("buffer/enable") == "1"
        if self._is_on and not was_on:
            on = [
                e for e in self._all.elements if self._says(f"scan_elements/in_{e.name}_en") == "1"
            ]
            self._wanted = ScanLayout(on)
        return not self._is_on

    def close(self) -> None:
        """See `Carrier`."""
        if self._pipe >= 0:
            os.close(self._pipe)
            self._pipe = -1
            self._kept.cleanup()

    def _says(self, name: str) -> str:
        return (self._folder / name).read_text(encoding="ascii").strip()
