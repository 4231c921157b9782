"""The C encoder for boards, compiled and run against the codec and the driver. Needs cc."""

from __future__ import annotations

import subprocess
import threading
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from gaugebench_drivers.framed_binary import DRIVER, FramedBinaryOptions

from gaugebench.acquire.clock import SystemClock
from gaugebench.driver import Batch, Input
from gaugebench.wire.frame import (
    FrameDecoder,
    Hello,
    Samples,
    ValueType,
    encode_hello,
    encode_samples,
)

if TYPE_CHECKING:
    from gaugebench.model.arrays import F64
    from tests.conftest import PtyLine

pytestmark = pytest.mark.tools
HERE = Path(__file__).parent
FIRMWARE = HERE.parents[1] / "drivers" / "firmware"
SCALE = {ValueType.INT16: 1.0, ValueType.INT24: 100.0, ValueType.FLOAT32: 0.125}


@pytest.fixture(scope="module")
def peer(tmp_path_factory: pytest.TempPathFactory) -> Path:
    program = tmp_path_factory.mktemp("firmware") / "peer"
    subprocess.run(
        [
            "cc", "-std=c99", "-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Werror",
            "-fsanitize=undefined", "-fno-sanitize-recover", f"-I{FIRMWARE}",
            str(FIRMWARE / "gauge_frame.c"), str(HERE / "firmware_peer.c"), "-o", str(program),
        ],
        check=True,
    )  # fmt: skip
    return program


def pattern(rows: int, columns: int) -> F64:
    row, column = np.arange(rows)[:, None], np.arange(columns)
    return ((row * 37 + column * 1009) % 65536 - 32768).astype(np.float64)


@pytest.mark.parametrize("sent", list(ValueType))
@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (8, 16), (3, 85), (64, 15)])
def test_its_frames_are_those_of_the_codec(
    peer: Path, tmp_path: Path, sent: ValueType, columns: int, rows: int
) -> None:
    out = tmp_path / "frames"
    frames = 20
    command = [str(peer), str(out), str(int(sent)), str(columns), str(rows), str(frames), "100000"]
    subprocess.run(command, check=True)
    values = pattern(rows * frames, columns) * SCALE[sent]
    expected = encode_hello("pattern board") + b"".join(
        encode_samples(values[n : n + rows], n, n * 1e-4, 1e-4, sent)
        for n in range(0, rows * frames, rows)
    )
    assert out.read_bytes() == expected
    found = FrameDecoder().feed(expected)
    assert found[0] == Hello("pattern board")
    decoded = [f.values for f in found[1:] if isinstance(f, Samples)]
    np.testing.assert_array_equal(np.concatenate(decoded), values)


def test_the_driver_reads_a_board_that_uses_it(peer: Path, line: PtyLine) -> None:
    inputs = tuple(Input(f"A{n}", "V") for n in range(8))
    source = DRIVER.open(FramedBinaryOptions(port=str(line.path)), inputs, SystemClock())
    data = line.path.parent / "frames"
    command = [str(peer), str(data), "1", "8", "16", "500", "100000"]
    subprocess.run(command, check=True)
    sender = threading.Thread(target=lambda: line.send(data.read_bytes()))
    sender.start()
    batches: list[Batch] = []
    while sum(len(b.raw) for b in batches) < 8000:
        reading = source.read(1.0)
        assert reading.batches or reading.notices
        batches += reading.batches
    sender.join()
    source.close()
    np.testing.assert_array_equal(np.concatenate([b.raw for b in batches]), pattern(8000, 8))
    device = np.concatenate([b.device_s for b in batches if b.device_s is not None])
    np.testing.assert_allclose(device, np.arange(8000) * 1e-4, atol=1e-9)
    assert sum(b.lost_before for b in batches) == 0
