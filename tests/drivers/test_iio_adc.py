"""Driver `iio-adc` on a made-up sysfs tree, with a pipe as the kernel's buffer."""

from __future__ import annotations

import os
import struct
from pathlib import Path
from typing import Any

import pytest
from gaugebench_drivers.iio_adc import DRIVER, IioOptions

from gaugebench.acquire.clock import SystemClock
from gaugebench.driver import Input, Source
from gaugebench.errors import SourceError, SourceLost

FORMS = {
    "voltage0": "le:s16/16>>0",
    "voltage1": "le:s16/16>>0",
    "temp": "le:s16/16>>0",
    "timestamp": "le:s64/64>>0",
}


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    device = tmp_path / "sys" / "iio:device3"
    files = {
        "name": "box-adc", "in_voltage0_scale": "0.1875", "in_voltage_scale": "3.0",
        "in_temp_scale": "62.5", "in_temp_offset": "-8", "sampling_frequency": "100",
        "buffer/enable": "0", "buffer/length": "0",
    }  # fmt: skip
    for index, (name, form) in enumerate(FORMS.items()):
        files |= {
            f"scan_elements/in_{name}_en": "0",
            f"scan_elements/in_{name}_index": str(index),
            f"scan_elements/in_{name}_type": form,
        }
    for name, text in files.items():
        path = device / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text + "\n", encoding="ascii")
    (tmp_path / "dev").mkdir()
    os.mkfifo(tmp_path / "dev" / "iio:device3")
    return tmp_path


def options(tree: Path, **changes: Any) -> IioOptions:
    return IioOptions.model_validate(
        {"device": "box-adc", "sysfs": tree / "sys", "dev": tree / "dev", **changes}
    )


def opened(tree: Path, *names: str, **changes: Any) -> Source:
    return DRIVER.open(options(tree, **changes), [Input(n, "V") for n in names], SystemClock())


def setting(tree: Path, name: str) -> str:
    return (tree / "sys" / "iio:device3" / name).read_text(encoding="ascii").strip()


def test_channels_are_switched_on_and_off(tree: Path) -> None:
    source = opened(tree, "voltage1", rate_hz=250, buffer_scans=64)
    enabled = {n: setting(tree, f"scan_elements/in_{n}_en") for n in FORMS}
    assert enabled == {"voltage0": "0", "voltage1": "1", "temp": "0", "timestamp": "1"}
    assert setting(tree, "sampling_frequency") == "250"
    assert setting(tree, "buffer/length") == "64"
    assert setting(tree, "buffer/enable") == "1"
    source.close()
    assert setting(tree, "buffer/enable") == "0"


def test_scans_become_values_with_the_kernels_time(tree: Path) -> None:
    pipe = os.open(tree / "dev" / "iio:device3", os.O_RDWR)
    source = opened(tree, "temp", "voltage0")
    assert [i.unit for i in source.streams[0].inputs] == ["°C", "V"]
    scans = b"".join(struct.pack("<hh4xq", n, 400 + n, n * 10_000_000) for n in range(3))
    os.write(pipe, scans[:20])
    first = source.read(0.5)
    os.write(pipe, scans[20:])
    second = source.read(0.5)
    batches = [*first.batches, *second.batches]
    assert [len(b.raw) for b in batches] == [1, 2], "half a scan is kept for the next read"
    rows = [row for b in batches for row in b.raw.tolist()]
    for n, row in enumerate(rows):
        assert row == pytest.approx([(392 + n) * 0.0625, n * 0.1875e-3])
    stamps = [t for b in batches if b.device_s is not None for t in b.device_s.tolist()]
    assert stamps == pytest.approx([0.0, 0.01, 0.02])
    os.close(pipe)
    with pytest.raises(SourceLost, match="went away"):
        source.read(0.5)
    source.close()


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"device": "other"}, r"no converter “other”; it has box-adc \(iio:device3\)"),
        ({"dev": Path("/nowhere")}, "cannot be set going"),
    ],
)
def test_what_is_not_there_is_told(tree: Path, changes: dict[str, Any], said: str) -> None:
    with pytest.raises(SourceError, match=said):
        opened(tree, "voltage0", **changes)


def test_an_unknown_channel_names_the_known_ones(tree: Path) -> None:
    with pytest.raises(SourceError, match="“voltage9”; it has temp, voltage0, voltage1"):
        opened(tree, "voltage9")


def test_a_form_that_cannot_be_read_is_told(tree: Path) -> None:
    (tree / "sys" / "iio:device3" / "scan_elements" / "in_temp_type").write_text("odd\n")
    with pytest.raises(SourceError, match="not the form of a scan element"):
        opened(tree, "temp")


def test_two_converters_of_one_name_must_be_told_apart(tree: Path) -> None:
    other = tree / "sys" / "iio:device4"
    other.mkdir()
    (other / "name").write_text("box-adc\n")
    with pytest.raises(SourceError, match="write one of iio:device3, iio:device4"):
        opened(tree, "voltage0")
    opened(tree, "voltage0", device="iio:device3").close()
