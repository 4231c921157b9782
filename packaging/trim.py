"""Take out of a frozen folder (Linux) what nothing in it needs.

    python packaging/trim.py PROGRAM_FOLDER

PyInstaller gathers the libraries of every plugin before the unused plugins are left out. A library
at the top of `_internal`, or in the `.libs` of a package, goes where no other file names it as
needed; links that lead nowhere go; the interpreter's library loses its debugging symbols. Needs
`readelf` and `strip` (binutils, which PyInstaller needs too).
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

_NEEDED = re.compile(r"\(NEEDED\).*\[(.+)\]")
_ELF = b"\x7fELF"


def programs(folder: Path) -> Iterator[Path]:
    """The ELF files below a folder, links left out."""
    for path in folder.rglob("*"):
        if path.is_file() and not path.is_symlink():
            with path.open("rb") as file:
                if file.read(4) == _ELF:
                    yield path


def needs(path: Path) -> frozenset[str]:
    """The libraries that an ELF file names as needed."""
    told = subprocess.run(["readelf", "-d", path], capture_output=True, text=True, check=True)
    return frozenset(_NEEDED.findall(told.stdout))


def unneeded(top: Path, found: dict[Path, frozenset[str]]) -> list[Path]:
    """Libraries in `top` and its `*.libs`, files or links, that nothing among `found` needs."""
    wanted = frozenset().union(*found.values())
    libraries = (*top.glob("lib*.so*"), *top.glob("*.libs/lib*.so*"))
    loose = (p for p in libraries if p.name not in wanted)
    return [p for p in loose if not p.name.startswith("libpython")]  # the starter opens that


def trim(folder: Path) -> int:
    """Remove what is not needed; how many files and links went."""
    top = folder / "_internal"
    found = {path: needs(path) for path in programs(folder)}
    gone = 0
    while spare := unneeded(top, found):
        for path in spare:
            path.unlink()
            found.pop(path, None)
            gone += 1
    for path in [p for p in top.rglob("*") if p.is_symlink() and not p.exists()]:
        path.unlink()
        gone += 1
    for path in top.glob("libpython*.so*"):
        subprocess.run(["strip", "--strip-unneeded", path], check=True)
    return gone


def main(arguments: Sequence[str]) -> int:
    """Trim the folder named."""
    print(f"  {trim(Path(arguments[0]))} libraries and links that nothing needs are gone.")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
