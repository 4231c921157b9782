from __future__ import annotations

import importlib.util
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

PACKAGING = Path(__file__).parents[2] / "packaging"


@pytest.fixture
def script(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], ModuleType]:
    """Loads a script of packaging/ by its name, as if it had been started from there."""

    def load(name: str) -> ModuleType:
        monkeypatch.syspath_prepend(PACKAGING)
        spec = importlib.util.spec_from_file_location(name, PACKAGING / f"{name}.py")
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        monkeypatch.setitem(sys.modules, name, module)
        spec.loader.exec_module(module)
        return module

    return load
