"""The serial port under the drivers: names kept whole, lines set before opening, faults told."""

from __future__ import annotations

import errno
from typing import TYPE_CHECKING, Any

import pytest
import serial
from gaugebench_drivers.serial_port import SerialOptions, SerialPort

from gaugebench.errors import SourceError, SourceLost

if TYPE_CHECKING:
    from tests.conftest import PtyLine


@pytest.mark.parametrize("name", ["COM9", "COM10", "COM27", "COM256", "/dev/ttyUSB10"])
def test_the_whole_name_is_opened_once_and_never_a_shorter_one(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[tuple[Any, ...]] = []

    def refuse(port: serial.Serial) -> None:
        opened.append((port.port, port.dtr, port.rts, port.exclusive, port.baudrate))
        raise serial.SerialException(errno.ENOENT, "not there")

    monkeypatch.setattr(serial.Serial, "open", refuse)
    with pytest.raises(SourceError, match=f"The port {name} cannot be opened"):
        SerialPort(SerialOptions(port=name, dtr=False, baud=9600))
    assert opened == [(name, False, True, True, 9600)], "DTR is set before opening"


@pytest.mark.parametrize(
    "fault",
    [
        serial.SerialException("device reports readiness to read but returned no data"),
        OSError(errno.EIO, "Input/output error"),
        TypeError("'NoneType' object cannot be interpreted as an integer"),
    ],
)
def test_every_way_of_going_away_is_told_as_one(
    line: PtyLine, fault: Exception, monkeypatch: pytest.MonkeyPatch
) -> None:
    port = SerialPort(SerialOptions(port=str(line.path)))

    def fail(*_: object) -> bytes:
        raise fault

    for method, call in (
        ("read", lambda: port.read(0.01)),
        ("write", lambda: port.write(b"x")),
        ("reset_input_buffer", port.forget_input),
    ):
        with monkeypatch.context() as patched:
            patched.setattr(serial.Serial, method, fail)
            with pytest.raises(SourceLost, match="ttyKIT0") as caught:
                call()
        assert caught.value.__cause__ is fault
    port.close()
    port.close()


def test_a_flood_is_taken_in_bounded_pieces(line: PtyLine) -> None:
    port = SerialPort(SerialOptions(port=str(line.path)))
    line.send(b"x" * 3000)
    got = b""
    while len(got) < 3000:
        piece = port.read(1.0)
        assert 0 < len(piece) <= 65_536
        got += piece
    assert port.read(0.0) == b""
    port.close()
