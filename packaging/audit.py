"""Check what is installed against the pins, without any service.

    python packaging/audit.py                     pins, gaps in them, and clashes
    python packaging/audit.py --files             also every installed file against its checksum
    python packaging/audit.py --advisories DIR    also known weaknesses, from files

DIR holds advisories in the open OSV form, one JSON file each, fetched on any machine that is on a
network. Ends with status 1 where anything is found, one line for each finding.
"""

from __future__ import annotations

import argparse
import base64
import csv
import hashlib
import json
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from importlib import metadata
from pathlib import Path

from closure import extras_of, needed, normal

CONSTRAINTS = Path(__file__).resolve().parent / "constraints.txt"


def pins(text: str) -> dict[str, str]:
    """Version by normal name, from lines `name==version`. Raises `ValueError` on any other line."""
    found = {}
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        name, sign, version = line.strip().partition("==")
        if not sign or not version or set(version) & set(" ;,<>=*"):
            raise ValueError(f"line {number} of the constraints is no exact pin: {line.strip()}")
        found[normal(name)] = version
    return found


def differing(
    pinned: Mapping[str, str], installed: Mapping[str, metadata.Distribution]
) -> Iterator[str]:
    """What is installed without a pin or at another version than its pin."""
    for name, package in installed.items():
        if name not in pinned:
            yield f"{name} {package.version} is needed but has no pin"
        elif pinned[name] != package.version:
            yield f"{name} is pinned at {pinned[name]} but {package.version} is installed"


def altered(package: metadata.Distribution) -> Iterator[str]:
    """Files that differ from the checksums of the package's own record, or are missing.

    Compiled caches are passed over: Python writes them anew as it sees fit.
    """
    # The record itself: from Python 3.12 on `files` leaves out what is missing.
    for name, checksum, _ in csv.reader((package.read_text("RECORD") or "").splitlines()):
        kind, _, wanted = checksum.partition("=")
        if kind != "sha256" or name.endswith(".pyc"):
            continue
        path = Path(str(package.locate_file(name)))
        if not path.is_file():
            yield f"{package.name}: {name} is missing"
            continue
        digest = base64.urlsafe_b64encode(hashlib.sha256(path.read_bytes()).digest())
        if digest.rstrip(b"=").decode() != wanted:
            yield f"{package.name}: {name} is not what was installed"


def known_weak(installed: Mapping[str, str], folder: Path) -> Iterator[str]:
    """Advisories that name an installed version. Raises `ValueError` on a file that is none."""
    for path in sorted(folder.rglob("*.json")):
        advisory = json.loads(path.read_text(encoding="utf-8"))
        if not isinstance(advisory, dict) or "affected" not in advisory:
            raise ValueError(f"{path} is no advisory in the OSV form")
        for affected in advisory["affected"]:
            package = affected.get("package", {})
            name = normal(package.get("name", ""))
            if package.get("ecosystem") != "PyPI" or name not in installed:
                continue
            if installed[name] in affected.get("versions", []):
                words = advisory.get("summary", "no summary given")
                yield f"{name} {installed[name]}: {advisory.get('id', path.stem)}, {words}"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the parts asked for; print what was found."""
    parser = argparse.ArgumentParser(description="Check what is installed against the pins.")
    parser.add_argument("--files", action="store_true", help="also each file's checksum")
    parser.add_argument("--advisories", type=Path, metavar="DIR", help="OSV files to hold it to")
    options = parser.parse_args(arguments)
    installed = needed("gaugebench", extras_of("gaugebench"))
    ours = installed.pop("gaugebench")
    try:
        found = list(differing(pins(CONSTRAINTS.read_text(encoding="utf-8")), installed))
        if options.advisories:
            versions = {name: package.version for name, package in installed.items()}
            found += known_weak(versions, options.advisories)
    except ValueError as fault:
        found = [str(fault)]
    if options.files:
        found += [line for package in installed.values() for line in altered(package)]
    clashes = subprocess.run(
        [sys.executable, "-m", "pip", "check", "--disable-pip-version-check"],
        capture_output=True,
        text=True,
        check=False,
    )
    if clashes.returncode != 0:
        found += clashes.stdout.splitlines()
    for line in found:
        print(line)
    print(f"{len(installed)} packages behind gaugebench {ours.version}, {len(found)} findings.")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
