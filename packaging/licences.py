"""Collect the licences of everything that travels with the frozen program into one file.

    python packaging/licences.py TARGET.txt [FROZEN_FOLDER]

The texts come from the installed distributions themselves. A few packages carry none; theirs stand
in packaging/licences, as those of Qt and its Python binding do (LGPL 3, and GPL 3 on which it
builds).
With FROZEN_FOLDER, the system libraries found in it are added from Debian's own copyright files.
Ends with status 1, and names it, where a package has no text.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path

from closure import extras_of, needed

NOT_SHIPPED = {"dev", "tools", "compare", "freeze"}
"""Extras of which nothing is in the frozen program."""
DPKG = Path("/var/lib/dpkg/info")
TEXTS = Path(__file__).resolve().parent / "licences"
_NAMES = ("licen", "copying", "notice", "copyright", "ofl")
_LGPL = ("LGPL-3.0.txt", "GPL-3.0.txt")
_OURS = {"pyside6-essentials": _LGPL, "shiboken6": _LGPL, "pyserial": ("pyserial.txt",)}
"""Texts that stand here for packages that install none."""
_INTRODUCTION = """\
Gaugebench {version} is under the MIT licence, the first text below. It comes with the packages
listed here, each under its own licence, whose texts follow.

Qt and its Python binding are used under the GNU Lesser General Public License, version 3. They lie
in this program's folder as separate shared libraries that you may replace by your own build of the
same version; their source code is offered by the Qt Project under the version given here. Nothing
in Gaugebench's licence forbids changing it for your own use or taking it apart to find a fault in
such a change.
"""


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing that travels along: what it is, the licence it states, and the texts."""

    title: str
    states: str
    texts: Mapping[str, str]


def stated(package: metadata.Distribution) -> str:
    """The licence that a package states of itself, in one line; empty where it states none."""
    fields = package.metadata
    if expression := fields.get_all("License-Expression"):
        return str(expression[0])
    names = [
        line.rpartition("::")[2].strip()
        for line in fields.get_all("Classifier") or []
        if line.startswith("License ::")
    ]
    free = "".join(fields.get_all("License") or []).strip().splitlines()
    return ", ".join(names) or (free[0] if free else "")


def texts_of(package: metadata.Distribution) -> Iterator[tuple[str, str]]:
    """Name and text of each licence file that the package installed."""
    for entry in package.files or []:
        name = entry.name.lower()
        is_code = entry.suffix in {".py", ".pyc", ".pyi"}
        if is_code or not any(part in name for part in _NAMES):
            continue
        path = Path(str(entry.locate()))
        if path.is_file():
            yield str(entry), path.read_text(encoding="utf-8", errors="replace")


def of_packages() -> list[Piece]:
    """Gaugebench first, then each package that it needs at run time."""
    pieces = []
    extras = extras_of("gaugebench") - NOT_SHIPPED
    for name, package in needed("gaugebench", extras).items():
        texts = dict(texts_of(package))
        if not texts:
            texts = {n: (TEXTS / n).read_text(encoding="utf-8") for n in _OURS.get(name, ())}
        pieces.append(Piece(f"{package.name} {package.version}", stated(package), texts))
    pieces.sort(key=lambda piece: not piece.title.startswith("gaugebench "))
    return pieces


def of_python() -> Piece:
    """The interpreter that is frozen with the program."""
    version = sys.version.partition(" ")[0]
    homes = [Path(sys.base_prefix), Path(sys.base_prefix) / "lib" / f"python{version[:4]}"]
    texts = [home / "LICENSE.txt" for home in homes] + [home / "LICENSE" for home in homes]
    found = {p.name: p.read_text(encoding="utf-8") for p in texts if p.is_file()}
    copyright_of = Path(f"/usr/share/doc/python{version[:4]}/copyright")
    if not found and copyright_of.is_file():
        found = {copyright_of.name: copyright_of.read_text(encoding="utf-8")}
    return Piece(f"Python {version}", "PSF-2.0", found)


def of_starter() -> list[Piece]:
    """PyInstaller's: its starter is in the frozen program. Empty where it is not installed."""
    try:
        package = metadata.distribution("pyinstaller")
    except metadata.PackageNotFoundError:
        return []
    title = f"The starter of PyInstaller {package.version}"
    return [Piece(title, stated(package), dict(texts_of(package)))]


def of_system(folder: Path) -> list[Piece]:
    """The system libraries in a frozen folder, by the Debian package that each came from."""
    names = {path.name for path in folder.rglob("*.so*") if not path.is_symlink()}
    packages = set()
    # dpkg's own lists: asking `dpkg -S` for a hundred names takes it half a minute.
    for listed in sorted(DPKG.glob("*.list")):
        files = listed.read_text(encoding="utf-8").splitlines()
        if any(".so" in file and file.rpartition("/")[2] in names for file in files):
            packages.add(listed.stem.partition(":")[0])
    pieces = []
    for package in sorted(packages):
        text = Path("/usr/share/doc") / package / "copyright"
        if text.is_file():
            words = text.read_text(encoding="utf-8", errors="replace")
            pieces.append(Piece(f"{package} (Debian)", "see its text", {"copyright": words}))
    return pieces


def compose(pieces: Sequence[Piece], version: str) -> str:
    """The whole file: introduction, list, texts; a text that several share stands once."""
    lines = [_INTRODUCTION.format(version=version)]
    lines += [f"  {piece.title}: {piece.states or 'see its text'}" for piece in pieces]
    shown: dict[str, str] = {}
    for piece in pieces:
        lines += ["", "=" * 79, piece.title, piece.states, "=" * 79]
        for name, text in piece.texts.items():
            if text in shown:
                lines.append(f"{name}: the same text as under {shown[text]}.")
                continue
            shown[text] = piece.title
            lines += [f"--- {name}", text.rstrip(), ""]
    return "\n".join(lines) + "\n"


def missing(pieces: Sequence[Piece]) -> list[str]:
    """Titles of those without a text: a stated name alone does not let anything be passed on."""
    return [piece.title for piece in pieces if not piece.texts]


def main(arguments: Sequence[str]) -> int:
    """Write the file."""
    target, folders = Path(arguments[0]), [Path(name) for name in arguments[1:]]
    pieces = [*of_packages(), of_python(), *of_starter()]
    for folder in folders:
        pieces += of_system(folder)
    if lacking := missing(pieces):
        print(f"No licence text is known of {', '.join(lacking)}.", file=sys.stderr)
        return 1
    target.write_text(compose(pieces, metadata.version("gaugebench")), encoding="utf-8")
    print(f"Wrote the licences of {len(pieces)} parts to {target}.")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
