"""Install the Debian package in a bare root, use it as a plain user without Python, remove it.

    debootstrap --variant=minbase SUITE ROOT
    python packaging/try_deb.py PACKAGE.deb ROOT

Needs root, and ROOT's own package source for what the package depends on. Ends with status 1 at the
first thing that is not as it should be. ROOT is changed: what the package depends on stays there.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

WANTED = (
    "usr/bin/gaugebench",
    "usr/share/applications/gaugebench.desktop",
    "usr/share/icons/hicolor/256x256/apps/gaugebench.png",
    "usr/share/mime/packages/gaugebench.xml",
    "usr/lib/udev/rules.d/70-gaugebench.rules",
    "usr/share/doc/gaugebench/copyright",
)
USER = "65534:65534"
"""nobody"""


class TryError(Exception):
    """What was not as it should be."""


def within(root: Path, *command: str, user: str = "0:0", limit_s: int = 900) -> str:
    """Output of a command in the root. Raises `TryError` where it fails."""
    done = subprocess.run(
        ["chroot", f"--userspec={user}", root, *command],
        env={
            "PATH": "/usr/sbin:/usr/bin:/sbin:/bin",
            "HOME": "/tmp" if user == USER else "/root",  # noqa: S108  # the root's own
            "DEBIAN_FRONTEND": "noninteractive",
            "LANG": "C.UTF-8",
        },
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=limit_s,
        check=False,
    )
    if done.returncode != 0:
        raise TryError(f"“{' '.join(command)}” ended with {done.returncode}:\n{done.stdout}")
    print(f"  ok  {' '.join(command)[:100]}", flush=True)
    return done.stdout


def files(root: Path) -> set[str]:
    """All files of the system, but for those that a package manager keeps for itself."""
    found = set()
    for top in ("etc", "opt", "usr"):
        for folder, _, names in os.walk(root / top):
            found |= {str((Path(folder) / name).relative_to(root)) for name in names}
    return found - {"etc/ld.so.cache"}


def try_it(package: Path, root: Path) -> None:
    """Raises `TryError` at the first thing that is not as it should be."""
    within(root, "apt-get", "update", "-qq")
    # What it depends on first, so that only the package itself stands between the two lists.
    told = subprocess.run(
        ["dpkg-deb", "--field", package, "Depends"], capture_output=True, text=True, check=True
    )
    needs = [part.split()[0] for part in told.stdout.split(",")]
    extra = ("shared-mime-info", "desktop-file-utils", "udev")
    within(root, "apt-get", "install", "-y", "-qq", "--no-install-recommends", *needs, *extra)
    before = files(root)
    shutil.copy(package, root / "tmp" / package.name)
    within(root, "apt-get", "install", "-y", "-qq", f"/tmp/{package.name}")  # noqa: S108
    if lacking := [name for name in WANTED if not os.path.lexists(root / name)]:
        raise TryError(f"not installed: {', '.join(lacking)}")
    entry = "/usr/share/applications/gaugebench.desktop"
    within(root, "desktop-file-validate", entry)
    types = within(root, "cat", "/usr/share/mime/globs2")
    if "application/x-gaugebench-trace:*.h5" not in types:
        raise TryError("the file type is not known to the desktop")
    if "verify" in within(root, "udevadm", "--help"):  # since systemd 254
        within(root, "udevadm", "verify", "/usr/lib/udev/rules.d/70-gaugebench.rules")
    within(root, "sh", "-c", "! command -v python3")
    for command in ("--version", "drivers", "ports", "demo --headless --out /tmp/out"):
        within(root, "gaugebench", *command.split(), user=USER)
    within(root, "sh", "-c", "gaugebench figures '/tmp/out/'*.h5 --json", user=USER)
    within(root, "apt-get", "purge", "-y", "-qq", "gaugebench")
    after = files(root)
    if after != before:
        left, gone = sorted(after - before)[:9], sorted(before - after)[:9]
        raise TryError(f"after removal, left behind: {left}; gone: {gone}")


def main(arguments: Sequence[str]) -> int:
    """Try the package in the root."""
    package, root = (Path(name).resolve() for name in arguments)
    for name in ("proc", "dev"):
        subprocess.run(["mount", "--rbind", f"/{name}", root / name], check=True)
        subprocess.run(["mount", "--make-rslave", root / name], check=True)
    try:
        try_it(package, root)
    except (TryError, subprocess.TimeoutExpired) as fault:
        print(fault, file=sys.stderr)
        return 1
    finally:
        for name in ("proc", "dev"):
            subprocess.run(["umount", "-R", root / name], check=True)
    print(f"{package.name} was installed, used and removed; nothing stayed behind.")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
