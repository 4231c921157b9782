"""Wrap the frozen program as a Debian package.

    python packaging/deb.py PROGRAM_FOLDER TARGET_FOLDER

It puts the folder under /usr/lib/gaugebench, a command on the path, the desktop entry, the icon in
every size, the file type and the rule that lets the user at the computer open serial adapters. The
desktop's caches are renewed by Debian's own triggers; removing the package leaves nothing behind.
"""

from __future__ import annotations

import platform
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from importlib import metadata
from pathlib import Path

PACKAGING = Path(__file__).resolve().parent
SVG = PACKAGING.parent / "gaugebench" / "guide" / "pictures" / "gaugebench.svg"
ARCHITECTURES = {"x86_64": "amd64", "aarch64": "arm64"}
# What Qt needs of the system and the folder does not hold. The libraries of an X11 window are in
# the folder; those of GL must be the system's own.
DEPENDS = ("libgl1", "libegl1", "libfontconfig1", "libdbus-1-3", "libxcb1", "libx11-6")
CONTROL = """\
Package: gaugebench
Version: {version}
Architecture: {architecture}
Maintainer: The Gaugebench authors <gaugebench@localhost>
Installed-Size: {kilobytes}
Depends: {depends}
Section: science
Priority: optional
Description: pressure instrument for the field hydraulics technician
 Reads a kit of pressure transducers on a machine with hydraulic pumps live,
 marks where reliefs crack and pumps de-stroke, records so that nothing is
 lost, takes figures with their uncertainty, and compares the pumps.
"""
AFTER = """\
#!/bin/sh
set -e
# The rule holds for what is plugged in from now on; what is in already is asked again.
if [ -d /run/udev ] && command -v udevadm >/dev/null; then
    udevadm control --reload || true
    udevadm trigger --subsystem-match=tty || true
fi
"""


def lay_out(program: Path, root: Path) -> None:
    """Put every file where it belongs below `root`."""
    shutil.copytree(program, root / "usr/lib/gaugebench", symlinks=True)
    command = root / "usr/bin/gaugebench"
    command.parent.mkdir(parents=True)
    command.symlink_to("../lib/gaugebench/gaugebench")
    share = root / "usr/share"
    for source, target in {
        PACKAGING / "linux/gaugebench.desktop": share / "applications/gaugebench.desktop",
        PACKAGING / "linux/gaugebench.xml": share / "mime/packages/gaugebench.xml",
        PACKAGING / "linux/70-gaugebench.rules": root / "usr/lib/udev/rules.d/70-gaugebench.rules",
        SVG: share / "icons/hicolor/scalable/apps/gaugebench.svg",
        **{
            icon: share / f"icons/hicolor/{icon.stem}x{icon.stem}/apps/gaugebench.png"
            for icon in (PACKAGING / "icons").glob("*.png")
        },
    }.items():
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(source, target)
    copyright_file = share / "doc/gaugebench/copyright"
    copyright_file.parent.mkdir(parents=True)
    (root / "usr/lib/gaugebench/LICENCES.txt").rename(copyright_file)


def control(root: Path, version: str) -> str:
    """The package's description of itself."""
    size = sum(p.stat().st_size for p in root.rglob("*") if p.is_file() and not p.is_symlink())
    libc = platform.libc_ver()[1]
    return CONTROL.format(
        version=version,
        architecture=ARCHITECTURES[platform.machine()],
        kilobytes=size // 1024,
        depends=", ".join((f"libc6 (>= {libc})", *DEPENDS)),
    )


def make_modes_plain(root: Path) -> None:
    """Readable by all, written by the owner, run where it was to be run."""
    for path in [root, *root.rglob("*")]:
        if not path.is_symlink():
            is_run = path.is_dir() or path.stat().st_mode & 0o100
            path.chmod(0o755 if is_run else 0o644)


def main(arguments: Sequence[str]) -> int:
    """Make the package; print its path."""
    program, target = (Path(name).resolve() for name in arguments)
    version = metadata.version("gaugebench")
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder) / "root"
        lay_out(program, root)
        information = root / "DEBIAN"
        information.mkdir()
        (information / "control").write_text(control(root, version), encoding="utf-8")
        after = information / "postinst"
        after.write_text(AFTER, encoding="utf-8")
        after.chmod(0o755)
        make_modes_plain(root)
        file = target / f"gaugebench_{version}_{ARCHITECTURES[platform.machine()]}.deb"
        made = subprocess.run(
            ["dpkg-deb", "--root-owner-group", "-Zzstd", "--build", root, file],
            stdout=subprocess.DEVNULL,
            check=False,
        )
    if made.returncode == 0:
        print(f"{file}: {file.stat().st_size / 1e6:.0f} MB.")
    return made.returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
