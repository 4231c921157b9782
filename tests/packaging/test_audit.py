"""The audit finds a missing pin, another version, an altered file and a known weakness."""

from __future__ import annotations

import json
from collections.abc import Callable
from importlib import metadata
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest


@pytest.fixture
def audit(script: Callable[[str], ModuleType]) -> ModuleType:
    return script("audit")


@pytest.fixture
def package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> metadata.Distribution:
    """An installed package of two files with a record of their checksums (PEP 376, PEP 427)."""
    info = tmp_path / "tin_whistle-1.2.dist-info"
    info.mkdir()
    (tmp_path / "tin_whistle.py").write_bytes(b"x = 1\n")
    (tmp_path / "gone.py").write_bytes(b"")
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: tin-whistle\nVersion: 1.2\n")
    # sha256 of b"x = 1\n" and of b"", from coreutils' sha256sum, in the record's base 64.
    (info / "RECORD").write_text(
        "tin_whistle.py,sha256=nia_NpkRxFwkPGhBR7I_yeHc_PJX0pmhxjIBam_NM_Q,6\n"
        "gone.py,sha256=47DEQpj8HBSa-_TImW-5JCeuQeRkm5NMpJWZG3hSuFU,0\n"
        "tin_whistle-1.2.dist-info/RECORD,,\n"
    )
    monkeypatch.syspath_prepend(tmp_path)
    return metadata.distribution("tin-whistle")


def test_a_pin_is_read_by_any_spelling_of_its_name(audit: ModuleType) -> None:
    assert audit.pins("PySide6_Essentials==6.11.3\n\n# note\n") == {"pyside6-essentials": "6.11.3"}


@pytest.mark.parametrize("line", ["numpy", "numpy>=2", "numpy==2.*", "numpy==2; python_version"])
def test_what_is_no_exact_pin_is_refused(audit: ModuleType, line: str) -> None:
    with pytest.raises(ValueError, match="line 2"):
        audit.pins(f"h5py==3.16.0\n{line}\n")


def test_a_missing_pin_and_another_version_are_found(
    audit: ModuleType, package: metadata.Distribution
) -> None:
    installed = {"tin-whistle": package}
    assert list(audit.differing({}, installed)) == ["tin-whistle 1.2 is needed but has no pin"]
    assert "1.3" in next(audit.differing({"tin-whistle": "1.3"}, installed))
    assert list(audit.differing({"tin-whistle": "1.2"}, installed)) == []


def test_an_altered_or_missing_file_is_found(
    audit: ModuleType, package: metadata.Distribution, tmp_path: Path
) -> None:
    assert list(audit.altered(package)) == []
    (tmp_path / "tin_whistle.py").write_bytes(b"x = 2\n")
    (tmp_path / "gone.py").unlink()
    assert len(list(audit.altered(package))) == 2


def test_packages_that_clash_are_findings(
    audit: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    said = SimpleNamespace(returncode=1, stdout="whistle 1 needs drum 2\n")
    monkeypatch.setattr(audit.subprocess, "run", lambda *_, **__: said)
    assert audit.main([]) == 1
    assert "whistle 1 needs drum 2\n" in capsys.readouterr().out
    said.returncode = 0
    assert audit.main([]) == 0
    assert "needs drum" not in capsys.readouterr().out


def test_an_advisory_is_matched_by_name_and_version(audit: ModuleType, tmp_path: Path) -> None:
    advisory = {
        "id": "EXAMPLE-1",
        "summary": "blows false",
        "affected": [
            {
                "package": {"ecosystem": "PyPI", "name": "Tin_Whistle"},
                "versions": ["1.1", "1.2"],
            }
        ],
    }
    (tmp_path / "a.json").write_text(json.dumps(advisory), encoding="utf-8")
    assert list(audit.known_weak({"tin-whistle": "1.2"}, tmp_path)) == [
        "tin-whistle 1.2: EXAMPLE-1, blows false"
    ]
    assert list(audit.known_weak({"tin-whistle": "1.3"}, tmp_path)) == []


def test_a_file_that_is_no_advisory_is_named(audit: ModuleType, tmp_path: Path) -> None:
    (tmp_path / "b.json").write_text("[]", encoding="utf-8")
    with pytest.raises(ValueError, match=r"b\.json"):
        list(audit.known_weak({}, tmp_path))


def test_the_closure_follows_requirements_and_wanted_extras(
    script: Callable[[str], ModuleType],
) -> None:
    closure = script("closure")
    plain, dev = closure.needed("gaugebench"), closure.needed("gaugebench", ["dev"])
    # shiboken6 is needed by PySide6 alone, pydantic-core by pydantic alone.
    assert {"gaugebench", "shiboken6", "pydantic-core", "numpy"} <= plain.keys()
    assert "pytest" not in plain
    assert {"pytest", "pluggy"} <= dev.keys()
