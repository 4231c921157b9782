"""Finding a port again after it was unplugged: by USB serial number or socket, never by name."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from gaugebench.acquire.ports import PortInfo, list_ports
from gaugebench.errors import SourceError

Lister = Callable[[], Sequence[PortInfo]]


@dataclass(frozen=True, slots=True)
class PortIdentity:
    """What a port was called when it was first opened, and the USB device behind it, if any."""

    name: str
    seen: PortInfo | None = None

    @staticmethod
    def of(name: str, lister: Lister = list_ports) -> PortIdentity:
        """The identity of the port that `name` stands for now; a link is followed."""
        real = os.path.realpath(name) if name.startswith("/") else name
        seen = next((p for p in lister() if p.device in {name, real}), None)
        return PortIdentity(name, seen if seen is not None and seen.vid is not None else None)

    def where_now(self, lister: Lister = list_ports) -> str:
        """The name to open now. A port without a USB device behind it keeps its name.

        Raises `SourceError` where the device is not plugged in, or where the user must say which
        of several alike it is.
        """
        if self.seen is None:
            return self.name
        same_kind = [p for p in lister() if (p.vid, p.pid) == (self.seen.vid, self.seen.pid)]
        by_serial = [p for p in same_kind if self.seen.serial and p.serial == self.seen.serial]
        candidates = by_serial if self.seen.serial else same_kind
        by_socket = [p for p in candidates if p.location and p.location == self.seen.location]
        if len(by_serial) == 1:
            return by_serial[0].device
        if len(by_socket) == 1:
            return by_socket[0].device
        if candidates:
            names = ", ".join(p.device for p in candidates)
            raise SourceError(
                f"{self.name} could now be any of {names}, which look alike; "
                "say which, or plug it into the socket it was in."
            )
        raise SourceError(f"{self.name} is not plugged in.")
