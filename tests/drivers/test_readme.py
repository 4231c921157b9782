"""drivers/README.md is followed to the letter: its plugin is installed, found, used and tested."""

from __future__ import annotations

import re
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from gaugebench.acquire import registry
from gaugebench.acquire.acquisition import Acquisition
from gaugebench.acquire.clock import SystemClock
from gaugebench.model.block import Block
from gaugebench.model.kit import kit_from

if TYPE_CHECKING:
    from gaugebench.model.event import Event
    from tests.conftest import PtyLine

ROOT = Path(__file__).parents[2]
README = (ROOT / "drivers" / "README.md").read_text(encoding="utf-8")


def listing(language: str, number: int = 0) -> str:
    return str(re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)[number])


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The plugin, installed by pip into a folder of its own."""
    project, target = tmp_path_factory.mktemp("plugin"), tmp_path_factory.mktemp("site")
    (project / "pyproject.toml").write_text(listing("toml"), encoding="utf-8")
    (project / "gauge_byte_pairs.py").write_text(listing("python"), encoding="utf-8")
    subprocess.run(
        [
            sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-build-isolation",
            "--no-index", "--disable-pip-version-check", "--target", str(target), str(project),
        ],
        check=True,
    )  # fmt: skip
    return target


@pytest.fixture
def site(installed: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    monkeypatch.syspath_prepend(str(installed))
    yield installed
    sys.modules.pop("gauge_byte_pairs", None)


def test_the_plugin_is_found_by_its_entry_point(site: Path) -> None:
    assert "byte-pairs" in registry.names()
    driver = registry.load("byte-pairs")
    assert driver.summary == "a made-up box that sends pairs of bytes"
    assert driver in registry.all_drivers()


def test_a_kit_reads_through_it(site: Path, line: PtyLine) -> None:
    channels = [{"input": "C1", "role": "pump1.main", "unit": "bar"}]
    source = {
        "driver": "byte-pairs",
        "options": {"port": str(line.path), "channels": 2},
        "channel": channels,
    }
    blocks: list[Block] = []

    def sink(event: Event) -> None:
        if isinstance(event, Block):
            blocks.append(event)

    acquisition = Acquisition(kit_from({"schema": 1, "source": [source]}), SystemClock(), sink)
    acquisition.start()
    try:
        line.send(bytes([0, 187, 1, 188]) * 20 + bytes([9, 9]))
        until = time.monotonic() + 30
        while sum(map(len, blocks)) < 20 or not acquisition.health()[0].rejects:
            assert time.monotonic() < until
            time.sleep(0.02)
        assert acquisition.health()[0].rejects == {"channel": 1}
    finally:
        acquisition.stop()
    np.testing.assert_array_equal(np.concatenate([b.raw for b in blocks]), np.full((20, 1), 188.0))


def test_the_test_of_the_readme_passes(site: Path, line: PtyLine) -> None:
    names: dict[str, object] = {}
    exec(compile(listing("python", 1), "README.md", "exec"), names)  # noqa: S102 - our own page
    test = names["test_it_keeps_the_contract"]
    assert callable(test)
    test(line)


def test_a_promise_that_is_broken_is_told(site: Path, line: PtyLine) -> None:
    """The suite can fail: each of these breaks one promise of the page's driver."""
    import gauge_byte_pairs as plugin  # type: ignore[import-not-found]
    from gaugebench_drivers.conformance import Bench, check

    from gaugebench.driver import Input

    inputs = (Input("C0", "bar"), Input("C1", "bar"))

    def bench(expected: float) -> Bench:
        def send() -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
            line.send(bytes([0, 187, 1, 188]) * 50)
            return np.tile([187.0, expected], (50, 1))

        return Bench(plugin.DRIVER, {"port": str(line.path)}, inputs, send)

    with pytest.raises(AssertionError, match="rows have the values that were sent"):
        check(bench(189.0))

    class Slow(plugin.BytePairs):  # type: ignore[misc]
        def read(self, timeout_s: float) -> object:
            time.sleep(0.7)
            return super().read(timeout_s)

    original = plugin.BytePairs
    plugin.BytePairs = Slow
    try:
        with pytest.raises(AssertionError, match="a read told"):
            check(bench(188.0))
    finally:
        plugin.BytePairs = original
