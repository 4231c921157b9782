"""The window at Hook-up, with a folder for records of its own."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from gaugebench.desk.memory import Memory
from gaugebench.desk.window import DeskWindow


@pytest.fixture
def window(qtbot: QtBot, memory: Memory, tmp_path: Path) -> Iterator[DeskWindow]:
    memory.keep("folder", str(tmp_path / "records"))
    made = DeskWindow(memory)
    qtbot.addWidget(made)
    made.resize(1600, 900)
    made.show()
    qtbot.waitExposed(made)
    yield made
    made.close()
