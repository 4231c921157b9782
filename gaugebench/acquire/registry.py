"""The drivers that are installed, found by their entry points and loaded only when chosen."""

from __future__ import annotations

from importlib.metadata import EntryPoint, entry_points
from importlib.util import find_spec
from typing import Any

from gaugebench.driver import Driver
from gaugebench.errors import DriverError

GROUP = "gaugebench.drivers"


def names() -> tuple[str, ...]:
    """The names of all registered drivers, in order of the alphabet; none is loaded."""
    return tuple(sorted({point.name for point in entry_points(group=GROUP)}))


def load(name: str) -> Driver[Any]:
    """The driver of that name.

    Raises `DriverError` where there is none or more than one, where it cannot be imported (the
    cause is chained), or where a library that it needs is not installed.
    """
    found = _registered(name)
    if not found:
        raise DriverError(
            f"No driver is called “{name}”; those installed are {', '.join(names()) or 'none'}."
        )
    if len(found) > 1:
        who = " and ".join(sorted(f"{p.value} ({_owner(p)})" for p in found))
        raise DriverError(f"The driver “{name}” is registered by {who}; uninstall one of them.")
    point = found[0]
    try:
        driver = point.load()
    except (ImportError, AttributeError) as fault:
        raise DriverError(
            f"The driver “{name}” ({point.value}) cannot be loaded: {fault}. "
            f"Install {_owner(point)} again."
        ) from fault
    if not isinstance(driver, Driver):
        raise DriverError(
            f"The driver “{name}” ({point.value}) is a {type(driver).__name__}, not a Driver; "
            f"ask the maker of {_owner(point)}."
        )
    if driver.name != name:
        raise DriverError(
            f"The driver registered as “{name}” calls itself “{driver.name}”; "
            f"ask the maker of {_owner(point)}."
        )
    for library, extra in driver.needs.items():
        if not _is_installed(library):
            raise DriverError(
                f"The driver “{name}” needs {library}, which is not installed; "
                f"run: pip install '{extra}'."
            )
    return driver


def all_drivers() -> tuple[Driver[Any], ...]:
    """Every driver that loads, in order of the alphabet; `troubles` tells about the others."""
    return tuple(d for d in map(_try, names()) if isinstance(d, Driver))


def troubles() -> tuple[DriverError, ...]:
    """Why the other drivers do not load."""
    return tuple(d for d in map(_try, names()) if isinstance(d, DriverError))


def _try(name: str) -> Driver[Any] | DriverError:
    try:
        return load(name)
    except DriverError as fault:
        return fault


def _registered(name: str) -> list[EntryPoint]:
    # The same distribution can be seen twice on the path; that is not two drivers.
    points = {(p.value, _owner(p)): p for p in entry_points(group=GROUP, name=name)}
    return list(points.values())


def _owner(point: EntryPoint) -> str:
    return point.dist.name if point.dist is not None else "its package"


def _is_installed(library: str) -> bool:
    try:
        return find_spec(library) is not None
    except ModuleNotFoundError:  # the parent of a dotted name is missing
        return False
