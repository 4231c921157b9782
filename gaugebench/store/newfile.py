"""A new file that is there whole or not at all."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from gaugebench.errors import RecordError
from gaugebench.store.names import publish, sync_file, sync_folder


def part_beside(path: Path) -> Path:
    """A free name for a temporary file in the same folder, so that it can be renamed."""
    return path.with_name(f".{path.stem}-{secrets.token_hex(4)}.part")


def write_new(path: Path, fill: Callable[[Path], None]) -> Path:
    """Let `fill` write a temporary file, then give it its name; the name it got.

    A taken name gets a number. `fill` is given a name that is free and may raise anything; the
    temporary file is then removed. Raises `RecordError` for an `OSError`.
    """
    part = part_beside(path)
    try:
        fill(part)
        sync_file(part)
        made = publish(part, path)
        sync_folder(made.parent)
    except OSError as fault:
        raise RecordError(
            f"{path} cannot be written: {fault.strerror or fault}; choose another folder or free "
            "some space."
        ) from fault
    finally:
        with suppress(OSError):  # what went wrong first is what is told
            part.unlink(missing_ok=True)
    return made
