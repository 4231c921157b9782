"""Drivers are found by their entry points, loaded only when chosen, and refused in clear words."""

from __future__ import annotations

import sys
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest

from gaugebench.acquire import registry
from gaugebench.errors import DriverError

PLUGIN = """
from collections.abc import Mapping
from gaugebench.driver import Driver, DriverOptions

class _Made(Driver):
    name = {name!r}
    summary = "made for a test"
    options = DriverOptions
    needs = {needs!r}
    def open(self, options, inputs, clock):
        raise AssertionError

DRIVER = _Made()
"""


def install(folder: Path, package: str, name: str, target: str, code: str | None = None) -> None:
    """A distribution as pip leaves it: a module and its metadata."""
    if code is not None:
        (folder / f"{package}.py").write_text(code, encoding="utf-8")
    info = folder / f"{package}-1.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {package}\nVersion: 1.0\n")
    (info / "entry_points.txt").write_text(f"[{registry.GROUP}]\n{name} = {target}\n")


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.syspath_prepend(str(tmp_path))
    return tmp_path


def test_the_projects_own_drivers_are_there() -> None:
    assert "text-lines" in registry.names()
    driver = registry.load("text-lines")
    assert driver.name == "text-lines"
    assert driver.summary
    assert registry.troubles() == ()
    assert tuple(d.name for d in registry.all_drivers()) == registry.names()


def test_names_loads_nothing(site: Path) -> None:
    install(site, "made_never", "never", "made_never:DRIVER", "raise AssertionError('loaded')")
    assert "never" in registry.names()
    assert "made_never" not in sys.modules


def test_an_unknown_name_lists_the_known_ones() -> None:
    with pytest.raises(DriverError, match=r"“text-line”.*text-lines"):
        registry.load("text-line")


def test_two_drivers_of_one_name_are_both_refused(site: Path) -> None:
    install(site, "made_a", "twin", "made_a:DRIVER", PLUGIN.format(name="twin", needs={}))
    install(site, "made_b", "twin", "made_b:DRIVER", PLUGIN.format(name="twin", needs={}))
    with pytest.raises(DriverError, match=r"made_a:DRIVER \(made_a\) and made_b:DRIVER \(made_b\)"):
        registry.load("twin")
    assert registry.names().count("twin") == 1
    assert "twin" not in [d.name for d in registry.all_drivers()]
    assert ["twin" in str(t) for t in registry.troubles()] == [True]


@pytest.mark.parametrize(
    ("code", "cause"),
    [
        ("import no_such_library_here", ModuleNotFoundError),
        ("OTHER = 1", AttributeError),
    ],
)
def test_the_cause_of_a_failed_import_is_kept(
    site: Path, code: str, cause: type[Exception]
) -> None:
    package = f"made_{cause.__name__.lower()}"
    install(site, package, "broken", f"{package}:DRIVER", code)
    with pytest.raises(DriverError, match=f"“broken”.*Install {package} again") as caught:
        registry.load("broken")
    assert isinstance(caught.value.__cause__, cause)


def test_a_library_that_is_missing_is_named_with_what_brings_it(site: Path) -> None:
    code = PLUGIN.format(name="wanting", needs={"no_such.library": "gaugebench[flux]"})
    install(site, "made_wanting", "wanting", "made_wanting:DRIVER", code)
    with pytest.raises(
        DriverError, match=r"needs no_such\.library.*pip install 'gaugebench\[flux\]'"
    ):
        registry.load("wanting")


def test_what_is_no_driver_is_refused(site: Path) -> None:
    install(site, "made_text", "text", "made_text:DRIVER", "DRIVER = 'text'")
    with pytest.raises(DriverError, match="is a str, not a Driver"):
        registry.load("text")


def test_a_driver_must_be_registered_under_its_own_name(site: Path) -> None:
    code = PLUGIN.format(name="one", needs={})
    install(site, "made_alias", "other", "made_alias:DRIVER", code)
    with pytest.raises(DriverError, match="“other” calls itself “one”"):
        registry.load("other")


def test_the_group_is_the_documented_one() -> None:
    point = EntryPoint("x", "y:z", registry.GROUP)
    assert point.group == "gaugebench.drivers"
