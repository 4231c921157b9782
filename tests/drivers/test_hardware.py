"""A real board on a real port: `pytest tests/drivers -m device --device /dev/ttyUSB0`.

The board should print lines of numbers at 115200 baud; what they mean does not matter here.
"""

from __future__ import annotations

import time

import numpy as np
import pytest
from gaugebench_drivers import conformance
from gaugebench_drivers.conformance import Bench
from gaugebench_drivers.text_lines import DRIVER, TextLineOptions

from gaugebench.acquire.clock import SystemClock
from gaugebench.acquire.ports import explain, list_ports
from gaugebench.acquire.rebind import PortIdentity
from gaugebench.driver import Input

pytestmark = pytest.mark.device


@pytest.fixture
def port(request: pytest.FixtureRequest) -> str:
    return str(request.config.getoption("--device"))


def test_the_port_is_listed_and_free(port: str) -> None:
    assert explain(port) == ""
    assert PortIdentity.of(port).where_now() in {p.device for p in list_ports()}


def test_reading_waits_as_told_and_the_port_can_be_opened_again(port: str) -> None:
    inputs = (Input("first", ""),)
    bench = Bench(DRIVER, {"port": port}, inputs, lambda: np.empty((0, 1)))
    conformance.check_waiting(bench)
    conformance.check_closing(bench)


def test_the_board_is_heard(port: str) -> None:
    source = DRIVER.open(TextLineOptions(port=port), (Input("first", ""),), SystemClock())
    rows = rejects = 0
    until = time.monotonic() + 10
    while rows + rejects < 10 and time.monotonic() < until:
        reading = source.read(0.1)
        rows += sum(len(b.raw) for b in reading.batches)
        rejects += len(reading.rejects)
    source.close()
    assert rows + rejects >= 10
