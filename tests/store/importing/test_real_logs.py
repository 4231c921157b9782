"""Files that others recorded, as they are. What the slice is: data/README.md."""

from __future__ import annotations

import gzip
from pathlib import Path

import numpy as np
import pytest

from gaugebench.model.trace import Trace
from gaugebench.quantity import Dimension, Reference
from gaugebench.store.export import write_csv
from gaugebench.store.importing.recipe import load_recipe, recipe_from, save_recipe
from gaugebench.store.opening import open_trace
from gaugebench.store.tracefile import write_trace
from gaugebench.store.verify import verify

DATA = Path(__file__).parent / "data"
RAM = DATA / "ram_slice.exp.gz"
PLATEAU = (191.38, 191.49)


@pytest.fixture
def ram() -> Trace:
    return open_trace(RAM, roles={"LowerHydPress": "pump1.main"})


def test_the_rams_log_is_read_as_it_is(ram: Trace) -> None:
    """Checked against numpy's own reading of the same columns."""
    with gzip.open(RAM, "rt") as file:
        table = np.genfromtxt(file, skip_header=1)
    assert len(ram.series) == table.shape[1] - 1
    for column, series in enumerate(ram.series, start=1):
        assert series.raw is not None
        np.testing.assert_array_equal(series.raw, table[:, column])
        np.testing.assert_array_equal(series.times, table[:, 0])
    lower = ram.series[3]
    assert (lower.channel.name, str(lower.channel.role)) == ("LowerHydPress", "pump1.main")
    # 1 psi is 6894.757 Pa (NIST SP 811, B.8)
    np.testing.assert_allclose(lower.values, table[:, 4] * 6894.757, rtol=1e-7)


def test_gauge_and_absolute_stay_what_they_are(ram: Trace) -> None:
    told = {s.channel.name: (s.channel.raw_unit, s.channel.reference) for s in ram.series}
    assert told["LowerHydPress"] == ("psig", Reference.GAUGE)
    assert told["UpperSpringPressure"] == ("psia", Reference.ABSOLUTE)
    kinds = {s.channel.name: s.channel.dimension for s in ram.series}
    assert kinds["Spd"] is Dimension.OTHER
    assert kinds["TestMachineForce"] is Dimension.OTHER
    assert kinds["RPM"] is Dimension.SPEED
    assert kinds["WindCurr"] is Dimension.CURRENT


def test_it_goes_to_a_trace_file_and_to_csv_and_back(ram: Trace, tmp_path: Path) -> None:
    stored = write_trace(ram, tmp_path / "ram.h5")
    assert verify(stored) == []
    for again in (open_trace(stored), open_trace(write_csv(ram, tmp_path / "ram.csv"))):
        for one, two in zip(ram.series, again.series, strict=True):
            assert one.channel.role == two.channel.role
            assert one.channel.chain == two.channel.chain
            assert one.channel.reference == two.channel.reference
            assert one.values.tobytes() == two.values.tobytes()
            assert one.times.tobytes() == two.times.tobytes()
    assert open_trace(stored).recipe["roles"] == {"LowerHydPress": "pump1.main"}


@pytest.mark.parametrize("name", ["ram.json", "ram.toml"])
def test_what_was_found_is_a_recipe_for_the_next_file(
    ram: Trace, tmp_path: Path, name: str
) -> None:
    path = tmp_path / name
    if name.endswith("json"):
        save_recipe(recipe_from(dict(ram.recipe)), path)
    else:
        path.write_text('separator = " "\n[roles]\nLowerHydPress = "pump1.main"\n')
    again = open_trace(RAM, recipe=load_recipe(path))
    assert again.series[3].channel == ram.series[3].channel
    assert again.series[3].values.tobytes() == ram.series[3].values.tobytes()


def test_one_row_a_cycle_is_turned_by_a_few_lines(tmp_path: Path) -> None:
    """A test rig's layout: a row for each 60 s cycle, 6000 cells at 100 Hz in one file, 600 at
    10 Hz in another. The first cycle's plateau is known to hold between 191.38 and 191.49 bar.
    """
    # These lines turn it: each row becomes a column, and each rate keeps its own times.
    pressure, flow = (
        np.loadtxt(DATA / f"rig_{name}.csv.gz", delimiter=",", skiprows=1)
        for name in ("PS1", "FS1")
    )
    lines = ["time [s],pump1.main [bar],FS1 [L/min]"]
    for n, value in enumerate(pressure.tolist()):
        lines.append(f"{n / 100},{value},{flow[n // 10] if n % 10 == 0 else ''}")
    (tmp_path / "cycle0.csv").write_text("\n".join(lines) + "\n")

    main, meter = open_trace(tmp_path / "cycle0.csv").series
    assert (len(main), len(meter)) == (6000, 600)
    assert main.raw is not None
    np.testing.assert_array_equal(main.raw, pressure)
    np.testing.assert_allclose(meter.values, flow / 60_000, rtol=1e-12)  # L/min to m³/s
    np.testing.assert_allclose(np.diff(meter.times), 0.1, rtol=1e-9)
    plateau = float(np.median(main.between(2.0, 8.0).values))
    assert PLATEAU[0] * 1e5 <= plateau <= PLATEAU[1] * 1e5
