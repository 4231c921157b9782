"""The serial ports of this machine, and why one of them will not open."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class PortInfo:
    """What the system knows of a serial port.

    serial, location: the USB serial number and the socket it is plugged into; empty where unknown.
    trouble: one sentence on why it cannot be opened, or empty.
    """

    device: str
    description: str = ""
    vid: int | None = None
    pid: int | None = None
    serial: str = ""
    location: str = ""
    trouble: str = ""

    def __str__(self) -> str:
        facts = [self.device, self.description]
        if self.serial:
            facts.append(f"serial {self.serial}")
        if self.location:
            facts.append(f"socket {self.location}")
        told = "  ".join(fact for fact in facts if fact)
        return f"{told}\n    {self.trouble}" if self.trouble else told


def list_ports() -> tuple[PortInfo, ...]:
    """All serial ports, in the order of their names with COM9 before COM10."""
    from serial.tools import list_ports as pyserial_ports

    found = [
        PortInfo(
            device=port.device,
            description="" if port.description in {None, "n/a"} else port.description,
            vid=port.vid,
            pid=port.pid,
            serial=port.serial_number or "",
            location=port.location or "",
            trouble=explain(port.device),
        )
        for port in pyserial_ports.comports()
    ]
    return tuple(sorted(found, key=lambda p: _natural(p.device)))


def explain(device: str, fault: BaseException | None = None) -> str:
    """One sentence on why `device` cannot be opened and what to do, or nothing.

    fault: what opening it raised; without it only what can be seen from outside is told.
    """
    if sys.platform == "win32":
        return _explain_windows(device, fault)
    if os.sep not in device:  # a bus, not a port
        return ""
    path = Path(device)
    if not path.exists():
        return f"There is no {device}; check that the kit is plugged in and see “gaugebench ports”."
    if not os.access(path, os.R_OK | os.W_OK):
        return _refused(path)
    if fault is not None and _error_number(fault) in {errno.EBUSY, errno.EAGAIN, errno.EACCES}:
        who = holders(device)
        if who:
            return f"{device} is held by {', '.join(who)}; close that program."
        return f"{device} is held by another program; close it."
    return ""


def holders(device: str, processes: Path = Path("/proc")) -> tuple[str, ...]:
    """Other programs that hold the device open, as “name (process 123)”, where the system tells."""
    wanted = os.path.realpath(device)
    found = []
    for process in processes.glob("[0-9]*"):
        if process.name == str(os.getpid()):
            continue
        try:
            held = any(os.path.realpath(handle) == wanted for handle in (process / "fd").iterdir())
            name = (process / "comm").read_text(encoding="utf-8", errors="replace").strip()
        except OSError:  # another user's process, or one that has just ended
            continue
        if held:
            found.append(f"{name} (process {process.name})")
    return tuple(sorted(found))


def _refused(path: Path) -> str:
    import grp

    status = path.stat()
    try:
        group = grp.getgrgid(status.st_gid).gr_name
    except KeyError:
        group = str(status.st_gid)
    if group == "root":
        return f"You may not open {path}, which belongs to root; install the udev rule for the kit."
    return (
        f"You may not open {path}: it belongs to the group {group}. "
        f"Run “sudo usermod -aG {group} $USER”, log out and in again."
    )


def _explain_windows(device: str, fault: BaseException | None) -> str:
    text = str(fault or "")
    if "PermissionError" in text or "Access is denied" in text:
        return f"{device} is held by another program; close it."
    if "FileNotFoundError" in text:
        return f"There is no {device}; check that the kit is plugged in."
    return ""


def _error_number(fault: BaseException) -> int | None:
    seen: BaseException | None = fault
    while seen is not None:
        number = getattr(seen, "errno", None)
        if isinstance(number, int):
            return number
        seen = seen.__cause__ or seen.__context__
    return None


def _natural(name: str) -> tuple[tuple[int, str], ...]:
    import re

    parts: Iterable[str] = re.split(r"(\d+)", name)
    return tuple((int(p), "") if p.isdigit() else (-1, p) for p in parts)
