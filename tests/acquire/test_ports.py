"""Ports: order of names, refusals, who holds a port, and finding it again. The system is faked."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING

import pytest

from gaugebench.acquire.ports import PortInfo, explain, holders, list_ports
from gaugebench.acquire.rebind import PortIdentity
from gaugebench.errors import SourceError

if TYPE_CHECKING:
    from tests.conftest import PtyLine


def fake_port(device: str, **facts: object) -> SimpleNamespace:
    known = {
        "description": "n/a",
        "vid": None,
        "pid": None,
        "serial_number": None,
        "location": None,
    }
    return SimpleNamespace(device=device, **{**known, **facts})


@pytest.fixture
def found(monkeypatch: pytest.MonkeyPatch) -> list[SimpleNamespace]:
    made: list[SimpleNamespace] = []
    monkeypatch.setattr("serial.tools.list_ports.comports", lambda: made)
    return made


def test_ports_come_in_the_order_of_their_numbers(
    found: list[SimpleNamespace], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.platform", "win32")
    found += [fake_port(f"COM{n}") for n in (256, 9, 27, 10, 2)]
    assert [p.device for p in list_ports()] == ["COM2", "COM9", "COM10", "COM27", "COM256"]


def test_a_port_tells_what_the_system_knows(found: list[SimpleNamespace], line: PtyLine) -> None:
    device = os.path.realpath(line.path)
    found.append(
        fake_port(
            device, description="Bridge", vid=0x1209, pid=1, serial_number="K-7", location="1-2"
        )
    )
    (port,) = list_ports()
    assert port == PortInfo(device, "Bridge", 0x1209, 1, "K-7", "1-2", "")
    assert str(port) == f"{device}  Bridge  serial K-7  socket 1-2"


@pytest.mark.parametrize("group", ["dialout", "plugdev", "uucp", "tty"])
def test_a_refused_port_names_the_group_and_the_command(
    group: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    port = tmp_path / "ttyUSB0"
    port.touch()
    monkeypatch.setattr("os.access", lambda *_: False)
    monkeypatch.setattr("grp.getgrgid", lambda _: SimpleNamespace(gr_name=group))
    assert explain(str(port)) == (
        f"You may not open {port}: it belongs to the group {group}. "
        f"Run “sudo usermod -aG {group} $USER”, log out and in again."
    )


def test_the_permission_is_looked_up_again_each_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    port = tmp_path / "ttyUSB0"
    port.touch()
    monkeypatch.setattr("grp.getgrgid", lambda _: SimpleNamespace(gr_name="dialout"))
    monkeypatch.setattr("os.access", lambda *_: False)
    assert "dialout" in explain(str(port))
    monkeypatch.setattr("os.access", lambda *_: True)
    assert explain(str(port)) == ""


def test_a_port_that_is_not_there_says_so(tmp_path: Path) -> None:
    assert "There is no" in explain(str(tmp_path / "ttyUSB9"))


def test_a_busy_port_names_its_holder(tmp_path: Path) -> None:
    port = tmp_path / "ttyUSB0"
    port.touch()
    processes = tmp_path / "proc"
    for number, name, target in ((101, "other", tmp_path), (102, "termprog", port)):
        handles = processes / str(number) / "fd"
        handles.mkdir(parents=True)
        (handles / "3").symlink_to(target)
        (processes / str(number) / "comm").write_text(f"{name}\n", encoding="utf-8")
    (processes / "103").mkdir()  # a process that ends while it is looked at
    assert holders(str(port), processes) == ("termprog (process 102)",)
    link = tmp_path / "by-id"
    link.symlink_to(port)
    assert holders(str(link), processes) == ("termprog (process 102)",)


def test_a_busy_port_without_a_known_holder_still_says_so(tmp_path: Path) -> None:
    port = tmp_path / "ttyUSB0"
    port.touch()
    assert "held by another program" in explain(str(port), OSError(errno.EBUSY, "busy"))
    assert explain(str(port), OSError(errno.EIO, "broken")) == ""


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("could not open port 'COM10': PermissionError(13, 'Access is denied.')", "is held by"),
        ("could not open port 'COM10': FileNotFoundError(2, 'not found')", "There is no COM10"),
        ("something else", ""),
    ],
)
def test_windows_says_it_in_its_own_way(
    said: str, told: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.platform", "win32")
    assert told in explain("COM10", OSError(said))


BRIDGE = PortInfo("/dev/ttyUSB0", "Bridge", 0x1209, 1, "K-7", "1-2")
TWIN = PortInfo("/dev/ttyUSB1", "Bridge", 0x1209, 1, "K-8", "1-3")
NAMELESS = PortInfo("/dev/ttyUSB0", "Bridge", 0x1A86, 2, "", "1-2")


def moved(port: PortInfo, device: str, location: str) -> PortInfo:
    return PortInfo(device, port.description, port.vid, port.pid, port.serial, location)


def test_a_device_is_found_by_its_serial_number_whatever_it_is_called() -> None:
    known = PortIdentity.of("/dev/ttyUSB0", lambda: (BRIDGE, TWIN))
    # They swapped names and sockets.
    now = (moved(TWIN, "/dev/ttyUSB0", "1-2"), moved(BRIDGE, "/dev/ttyUSB1", "1-3"))
    assert known.where_now(lambda: now) == "/dev/ttyUSB1"


def test_another_device_of_the_same_name_is_not_taken_for_it() -> None:
    known = PortIdentity.of("/dev/ttyUSB0", lambda: (BRIDGE,))
    with pytest.raises(SourceError, match="not plugged in"):
        known.where_now(lambda: (moved(TWIN, "/dev/ttyUSB0", "1-2"),))
    with pytest.raises(SourceError, match="not plugged in"):
        known.where_now(lambda: ())


def test_a_device_without_a_serial_number_is_found_by_its_socket() -> None:
    known = PortIdentity.of("/dev/ttyUSB0", lambda: (NAMELESS,))
    twin = moved(NAMELESS, "/dev/ttyUSB0", "1-4")
    same = moved(NAMELESS, "/dev/ttyUSB3", "1-2")
    assert known.where_now(lambda: (twin, same)) == "/dev/ttyUSB3"


@pytest.mark.parametrize("sockets", [("1-4",), ("1-4", "1-5")])
def test_where_several_are_alike_the_user_is_asked(sockets: tuple[str, ...]) -> None:
    known = PortIdentity.of("/dev/ttyUSB0", lambda: (NAMELESS,))
    now = tuple(moved(NAMELESS, f"/dev/ttyUSB{n}", s) for n, s in enumerate(sockets))
    with pytest.raises(SourceError, match="look alike; say which"):
        known.where_now(lambda: now)


def test_two_of_one_serial_number_are_told_apart_by_socket() -> None:
    known = PortIdentity.of("/dev/ttyUSB0", lambda: (BRIDGE,))
    copy = moved(BRIDGE, "/dev/ttyUSB5", "1-9")
    assert known.where_now(lambda: (copy, moved(BRIDGE, "/dev/ttyUSB7", "1-2"))) == "/dev/ttyUSB7"


@pytest.mark.parametrize("name", ["COM9", "COM10", "COM27", "COM256", "/dev/pts/3"])
def test_a_port_without_usb_keeps_its_whole_name(name: str) -> None:
    known = PortIdentity.of(name, lambda: (PortInfo("COM2"), PortInfo("COM1")))
    assert known.where_now(lambda: (PortInfo("COM2"), PortInfo("COM1"))) == name
